import type { Position } from '../catalogue/posture.js';
import type { Exercise } from '../catalogue/schema.js';
import type { Problem } from '../errors/stillcountError.js';

/** How far down a position is: standing, sitting, lying. */
const heights: Readonly<Record<Position, number>> = {
  standing: 2,
  'sitting-on-edge': 1,
  'side-lying': 0,
  supine: 0,
};

const inWords: Readonly<Record<Position, string>> = {
  standing: 'standing',
  'sitting-on-edge': 'sitting on the edge of the bed',
  'side-lying': 'lying on the side',
  supine: 'lying on the back',
};

/** The exercise that gets the listener up, and where it stands in the program. */
type Rise = { index: number; name: string };

/**
 * Walks the positions of a program, from standing beside the bed to where its last exercise ends. Lying down and
 * turning in bed are led by the session itself; getting up is led by an exercise, once, and nothing lies down after it.
 *
 * @returns a problem for every exercise that cannot follow the one before it
 */
export function pathProblems(exercises: readonly Exercise[]): Problem[] {
  const problems: Problem[] = [];
  let position: Position = 'standing';
  let rise: Rise | null = null;
  exercises.forEach((exercise, index) => {
    const { from, to } = exercise.path;
    const problem = stepProblem(exercise, index, position, rise);
    if (problem !== null) {
      problems.push(problem);
      return;
    }
    position = to?.position ?? from.position;
    if (risesBy(exercise) > 0) rise = { index, name: exercise.name };
  });
  return problems;
}

/**
 * The place of the first exercise that leads out of lying, before which another exercise is added; the number of
 * exercises where there is none.
 */
function firstRiseIndex(exercises: readonly (Exercise | undefined)[]): number {
  const index = exercises.findIndex((exercise) => exercise !== undefined && risesBy(exercise) > 0);
  return index === -1 ? exercises.length : index;
}

/**
 * Where an exercise is added to a program: what leads down goes first, what leads out or is done upright goes last, and
 * everything else before the way out of bed.
 *
 * @param exercises of the program; undefined for one that the catalogue does not know
 */
export function placeToAdd(exercises: readonly (Exercise | undefined)[], added: Exercise): number {
  const rise = risesBy(added);
  if (rise < 0) return 0;
  const isUpright = heights[added.path.from.position] > 0;
  return rise > 0 || isUpright ? exercises.length : firstRiseIndex(exercises);
}

/** Above 0 for what gets the listener up, below 0 for what leads down. */
function risesBy({ path: { from, to } }: Exercise): number {
  return to === undefined ? 0 : heights[to.position] - heights[from.position];
}

function stepProblem(
  exercise: Exercise,
  index: number,
  position: Position,
  rise: Rise | null,
): Problem | null {
  const { from } = exercise.path;
  const down = heights[position] - heights[from.position];
  const path = `exercises[${index}].exercise`;
  const found = `place ${index + 1}, ${inWords[position]}`;
  const message = `“${exercise.name}” starts ${inWords[from.position]}`;
  if (down === 0 && rise !== null && risesBy(exercise) < 0) {
    return {
      path,
      message: `“${exercise.name}” leads down, after “${rise.name}” has led the listener out of lying`,
      found,
      allowed: `place 1, or a program without “${rise.name}” before it`,
    };
  }
  if (down === 0 || (down > 0 && rise === null)) return null;
  if (down > 0 && rise !== null) {
    return {
      path,
      message: `${message}, after “${rise.name}” has led the listener out of lying`,
      found,
      allowed: `a place before “${rise.name}”, at most place ${rise.index + 1}`,
    };
  }
  if (risesBy(exercise) < 0) {
    return {
      path,
      message: `${message} and leads down, and the listener is down already`,
      found,
      allowed: 'place 1',
    };
  }
  return {
    path,
    message: `${message}, and nothing before it leads there`,
    found,
    allowed: 'a place after an exercise that ends there',
  };
}
