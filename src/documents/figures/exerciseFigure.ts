import type { Exercise } from '../../catalogue/schema.js';
import { type SetUp, setUpSchema } from '../../catalogue/setUp.js';
import { describeFigure } from '../../figure/describe.js';
import { figurePanels, movingPanels, type Panel } from '../../figure/figure.js';
import type { Support } from '../../figure/fullPoses.js';
import type { Side } from '../../figure/pose.js';
import type { FigureSpec } from '../../figure/spec.js';
import type { FigureWords } from '../../figure/words.js';
import type { PrescribedExercise } from '../../program/prescribed.js';

/** The figure of an exercise: each pose with its text alternative. */
export type ExerciseFigure = {
  poses: readonly { panel: Panel; text: string }[];
  /** The movement from the second-to-last pose to the last; empty if nothing visibly moves. */
  way: readonly Panel[];
};

/** The inputs of a figure: the poses of the exercise, and this patient's support and side. */
type FigureOf = { spec: FigureSpec; support: Support; side: Side; words: FigureWords };

/**
 * Draws an exercise as prescribed: with its head support, knee position and working side. If the sides alternate, it is
 * drawn for the right one.
 *
 * @returns null if the exercise has no poses or the templates have no words for figures
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

/**
 * Draws an exercise of the catalogue for no particular patient, with the knees as the exercise prefers.
 *
 * @returns null as for a prescribed exercise
 */
export function catalogueFigure(
  exercise: Exercise,
  words: FigureWords | null,
  { headSupport, side = 'right' }: { headSupport?: SetUp['headSupport'] | undefined; side?: Side } = {},
): ExerciseFigure | null {
  const setUp = setUpSchema.parse({ headSupport });
  return prescribedFigure(
    { exercise, setUp: { ...setUp, knees: preferredKnees(exercise) ?? setUp.knees }, side },
    words,
  );
}

/** Steps of a movement: enough for a slow one to look smooth. */
const stepsOfWay = 8;

function drawn({ spec, support, side, words }: FigureOf): ExerciseFigure {
  const texts = describeFigure(spec, support, side, words);
  const panels = figurePanels(spec, support, side);
  return {
    poses: panels.map((panel, index) => ({ panel, text: texts[index] ?? '' })),
    // Computed on demand, because most figures are shown still.
    get way() {
      return movingPanels(spec, support, side, stepsOfWay);
    },
  };
}

/** Returns the knee position of the program if the exercise allows it, otherwise the one the exercise prefers. */
function supportFor(exercise: Exercise, { headSupport, knees }: SetUp): Support {
  const postures = exercise.path.from.legs ?? [];
  const isPossible = postures.length === 0 || postures.includes(knees);
  return { headSupport, knees: isPossible ? knees : (preferredKnees(exercise) ?? knees) };
}

/** Returns the first leg posture of the exercise that applies to both legs. */
function preferredKnees({ path }: Exercise): SetUp['knees'] | undefined {
  return path.from.legs?.find((posture) => posture !== 'one-bent');
}
