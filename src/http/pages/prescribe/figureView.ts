import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Exercise } from '../../../catalogue/schema.js';
import { setUpSchema } from '../../../catalogue/setUp.js';
import { prescribedFigure } from '../../../documents/figures/exerciseFigure.js';
import { svgOnPage } from '../../../documents/figures/svg.js';
import type { FigureWords } from '../../../figure/words.js';
import { type LooseExercise, type LooseProgram, valueAtPath } from '../../../prescription/looseProgram.js';
import type { PrescribedExercise } from '../../../program/prescribed.js';
import { sideChoiceSchema } from '../../../program/schema.js';
import type { Words } from '../../../text/words.js';
import { type DrawnFor, poseAddress } from '../exercises/poseAddress.js';
import { type PoseSize, poseSize } from '../exercises/poseSize.js';

/** What a figure needs of an exercise: a signed one has it, and so does one whose dose is not yet right. */
type Drawable = Pick<PrescribedExercise, 'exercise' | 'setUp' | 'side'>;

type KeptFigure = { work: string; poses: readonly PoseSize[] };
/**
 * Figures as they were drawn: the page is drawn again with every number that is typed, and hardly any changes a figure.
 * An exercise has no more of them than there are sides, head supports and ways to lay the knees.
 */
const kept = new WeakMap<Exercise, Map<string, KeptFigure | null>>();

function figureOf(drawable: Drawable, { side, headSupport, knees }: DrawnFor, words: FigureWords | null) {
  const figures = kept.get(drawable.exercise) ?? new Map<string, KeptFigure | null>();
  kept.set(drawable.exercise, figures);
  const key = [side, headSupport, knees].join(' ');
  const known = figures.get(key);
  if (known !== undefined) return known;
  const poses = prescribedFigure(drawable, words)?.poses ?? [];
  const work = poses.at(-1);
  const drawn =
    work === undefined ? null : { work: svgOnPage(work.panel, work.text), poses: poses.map(poseSize) };
  figures.set(key, drawn);
  return drawn;
}

/** The figure of an exercise in a program: the working pose, and addresses of all poses; null for words alone. */
export function figureView(drawable: Drawable | null, { figureWords }: Catalogue, words: Words): object {
  if (drawable === null) return { workFigure: null, hasFigure: false, sideWords: null };
  const { exercise, side, setUp } = drawable;
  const { headSupport, knees } = setUp;
  const drawnFor: DrawnFor = { side: side === 'left' ? 'left' : 'right', headSupport, knees };
  const figure = figureOf(drawable, drawnFor, figureWords);
  return {
    workFigure: figure?.work ?? null,
    hasFigure: figure !== null,
    sideWords: side === null ? null : words.sides[side],
    isBothSides: side === 'both' || side === 'alternate',
    poses:
      figure?.poses.map((pose, index) => ({ ...pose, address: poseAddress(exercise, index, drawnFor) })) ??
      [],
  };
}

/** An exercise as far as its fields can be read: a number that is out of range changes nothing that is drawn. */
export function exerciseAsWritten(
  { exercise: id, side, setUp }: LooseExercise,
  program: LooseProgram,
  catalogue: Catalogue,
): Drawable | null {
  const exercise = catalogue.exercises.get(id);
  if (exercise === undefined) return null;
  const read = setUpSchema.safeParse({ ...Object(valueAtPath(program, 'setUp')), ...setUp });
  const chosen = sideChoiceSchema.safeParse(side ?? 'both');
  return {
    exercise,
    setUp: read.success ? read.data : setUpSchema.parse({}),
    side: exercise.sidedness === 'one-side' && chosen.success ? chosen.data : null,
  };
}
