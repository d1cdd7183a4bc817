import type { Catalogue } from '../../../catalogue/catalogue.js';
import { setUpSchema } from '../../../catalogue/setUp.js';
import { prescribedFigure } from '../../../documents/figures/exerciseFigure.js';
import { svgOnPage } from '../../../documents/figures/svg.js';
import { type LooseExercise, type LooseProgram, valueAtPath } from '../../../prescription/looseProgram.js';
import type { PrescribedExercise } from '../../../program/prescribed.js';
import { sideChoiceSchema } from '../../../program/schema.js';
import type { Words } from '../../../text/words.js';
import { type DrawnFor, poseAddresses } from '../exercises/poseAddress.js';

/** What a figure needs of an exercise: a signed one has it, and so does one whose dose is not yet right. */
type Drawable = Pick<PrescribedExercise, 'exercise' | 'setUp' | 'side'>;

/** The figure of an exercise in a program: the working pose, and addresses of all poses; null for words alone. */
export function figureView(drawable: Drawable | null, { figureWords }: Catalogue, words: Words): object {
  const figure = drawable === null ? null : prescribedFigure(drawable, figureWords);
  const side = drawable?.side ?? null;
  const sideWords = side === null ? null : words.sides[side];
  if (drawable === null || figure === null) return { hasFigure: false, workFigure: null, sideWords };
  const { exercise, setUp } = drawable;
  const drawnFor: DrawnFor = {
    side: side === 'left' ? 'left' : 'right',
    headSupport: setUp.headSupport,
    knees: setUp.knees,
  };
  const work = figure.poses.at(-1);
  return {
    hasFigure: true,
    sideWords,
    isBothSides: side === 'both' || side === 'alternate',
    workFigure: work === undefined ? null : svgOnPage(work.panel, work.text),
    poses: figure.poses.map(({ text }, index) => ({ text, ...poseAddresses(exercise, index, drawnFor) })),
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
