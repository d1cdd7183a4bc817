import type { Catalogue } from './catalogue.js';
import type { Exercise } from './schema.js';

/** Returns the tags of everything that is said in an exercise. */
export function tagsOfExercise({ wording }: Pick<Exercise, 'wording'>): string[] {
  const { setUp, explain, startingPosition, safety, changeSides, clearUp } = wording;
  const lines = [...setUp, ...explain, ...startingPosition, ...safety, ...changeSides, ...clearUp];
  return lines.flatMap(({ tag }) => tag ?? []);
}

/** Returns every tag on a line of an exercise: what an adaptation can leave out. */
export function spokenTags({ exercises }: Pick<Catalogue, 'exercises'>): Set<string> {
  return new Set([...exercises.values()].flatMap(tagsOfExercise));
}
