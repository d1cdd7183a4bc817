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
type Rise = { index: number; id: string };

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
    if (heights[position] > heights[from.position]) rise = { index, id: exercise.id };
  });
  return problems;
}

/**
 * The place of the first exercise that leads out of lying, before which another exercise is added; the number of
 * exercises where there is none.
 */
export function firstRiseIndex(exercises: readonly Exercise[]): number {
  const index = exercises.findIndex(
    ({ path: { from, to } }) => to !== undefined && heights[to.position] > heights[from.position],
  );
  return index === -1 ? exercises.length : index;
}

function stepProblem(
  exercise: Exercise,
  index: number,
  position: Position,
  rise: Rise | null,
): Problem | null {
  const { from } = exercise.path;
  const down = heights[position] - heights[from.position];
  if (down === 0 || (down > 0 && rise === null)) return null;
  const path = `exercises[${index}].exercise`;
  const found = `place ${index + 1}, ${inWords[position]}`;
  const message = `${exercise.id} starts ${inWords[from.position]}`;
  if (down > 0 && rise !== null) {
    return {
      path,
      message: `${message}, after ${rise.id} has led the listener out of lying`,
      found,
      allowed: `a place before ${rise.id}, at most place ${rise.index + 1}`,
    };
  }
  if (heights[exercise.path.to?.position ?? from.position] < heights[from.position]) {
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
