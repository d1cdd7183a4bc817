import type { Catalogue } from '../catalogue/catalogue.js';
import { lyingDownAndGettingUp } from '../screening/findings.js';
import type { Words } from './words.js';

/** Returns the names of exercises, and of the parts that every session has. */
export function namesOf(ids: readonly string[], catalogue: Catalogue, words: Words): string {
  return ids
    .map((id) =>
      id === lyingDownAndGettingUp.id
        ? words.lyingDownAndGettingUp
        : (catalogue.exercises.get(id)?.name ?? id),
    )
    .join(', ');
}
