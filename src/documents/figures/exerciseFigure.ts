import type { Exercise } from '../../catalogue/schema.js';
import { type SetUp, setUpSchema } from '../../catalogue/setUp.js';
import { describeFigure } from '../../figure/describe.js';
import { figurePanels, movingPanels, type Panel } from '../../figure/figure.js';
import type { Support } from '../../figure/fullPoses.js';
import type { Side } from '../../figure/pose.js';
import type { FigureSpec } from '../../figure/spec.js';
import type { FigureWords } from '../../figure/words.js';
import type { PrescribedExercise } from '../../program/prescribed.js';

/** An exercise as it is drawn: each pose with what it shows, in words. */
export type ExerciseFigure = {
  poses: readonly { panel: Panel; text: string }[];
  /** The way from the pose before the last to the last; none where nothing is seen to move. */
  way: readonly Panel[];
};

/** What a figure is drawn from: the poses of the exercise, and how this patient lies and works. */
type FigureOf = { spec: FigureSpec; support: Support; side: Side; words: FigureWords };

/**
 * The figure of an exercise as it was prescribed: on this head support, with the knees as they lie, for the working
 * side. Where both sides work in turn, it is drawn for the right one.
 *
 * @returns null for an exercise without poses, and without words for them
 */
export function prescribedFigure(
  { exercise, setUp, side }: Pick<PrescribedExercise, 'exercise' | 'setUp' | 'side'>,
  words: FigureWords | null,
): ExerciseFigure | null {
  const { figure: spec } = exercise;
  if (spec === undefined || words === null) return null;
  return drawn({
    spec,
    support: supportFor(exercise, setUp),
    side: side === 'left' ? 'left' : 'right',
    words,
  });
}

/** The figure of an exercise as the catalogue has it, for nobody in particular; null as for a prescribed one. */
export function catalogueFigure(
  exercise: Exercise,
  words: FigureWords | null,
  side: Side = 'right',
): ExerciseFigure | null {
  return prescribedFigure({ exercise, setUp: setUpSchema.parse({}), side }, words);
}

/** Enough for a slow movement to look even. */
const stepsOfWay = 8;

function drawn({ spec, support, side, words }: FigureOf): ExerciseFigure {
  const texts = describeFigure(spec, support, side, words);
  const panels = figurePanels(spec, support, side);
  return {
    poses: panels.map((panel, index) => ({ panel, text: texts[index] ?? '' })),
    // Most of who asks for a figure shows it still.
    get way() {
      return movingPanels(spec, support, side, stepsOfWay);
    },
  };
}

/** How the legs lie: as the program says where the exercise can be done so, else as the exercise prefers. */
function supportFor({ path }: Exercise, { headSupport, knees }: SetUp): Support {
  const postures = path.from.legs ?? [];
  const preferred = postures.find((posture) => posture !== 'one-bent') ?? knees;
  return { headSupport, knees: postures.length === 0 || postures.includes(knees) ? knees : preferred };
}
