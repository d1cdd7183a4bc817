import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Exercise } from '../../../catalogue/schema.js';
import { bodyPositions, loadTags, purposes } from '../../../catalogue/wording.js';
import type { ScreeningAnswers } from '../../../screening/answers.js';
import { findingsOf } from '../../../screening/findings.js';
import type { Interview } from '../../../screening/interview.js';
import type { Words } from '../../../text/words.js';
import { type Fields, field } from '../../forms/fields.js';
import { workingPoseAddress } from '../exercises/poseAddress.js';

/** The clinician's search; empty for everything. */
export type Search = { text: string; purpose: string; position: string; without: string };

export function searchOf(fields: Fields): Search {
  return {
    text: field(fields, 'find.text').slice(0, 100),
    purpose: field(fields, 'find.purpose'),
    position: field(fields, 'find.position'),
    without: field(fields, 'find.without'),
  };
}

/** The exercises that can be added and that match the search, under their first purpose. */
export function catalogueView(
  search: Search,
  catalogue: Catalogue,
  screening: { answers: ScreeningAnswers; interview: Interview },
  words: Words,
): object {
  const found = [...catalogue.exercises.values()].filter((exercise) => answers(exercise, search, words));
  const chosenOf = (keys: readonly string[], texts: Readonly<Record<string, string>>, chosen: string) =>
    keys.map((value) => ({ value, words: texts[value], selected: value === chosen }));
  const groups = purposes.flatMap((purpose) => {
    const exercises = found.filter((exercise) => exercise.purposes[0] === purpose);
    return exercises.length === 0 ? [] : [{ purpose: words.purposes[purpose], exercises }];
  });
  return {
    find: search,
    findPurposes: chosenOf(purposes, words.purposes, search.purpose),
    findPositions: chosenOf(bodyPositions, words.positions, search.position),
    findLoads: chosenOf(loadTags, words.loads, search.without),
    foundCount: found.length,
    catalogue: groups.map(({ purpose, exercises }) => ({
      purpose,
      exercises: exercises.map((exercise) => {
        const [strictest] = findingsOf(screening.answers, [exercise], screening.interview);
        return {
          id: exercise.id,
          name: exercise.name,
          what: exercise.purpose,
          anatomy: exercise.anatomy,
          pose: workingPoseAddress(exercise),
          position: words.positions[exercise.position.body],
          conflict:
            strictest === undefined
              ? null
              : { measure: words.measures[strictest.rule.measure], name: strictest.precaution.name },
        };
      }),
    })),
  };
}

function answers(exercise: Exercise, search: Search, words: Words): boolean {
  const { name, purpose, anatomy, loadTags: loads, purposes: kinds } = exercise;
  const text = [name, purpose, anatomy, ...loads.map((load) => words.loads[load])].join(' ').toLowerCase();
  const { body } = exercise.position;
  return (
    search.text
      .toLowerCase()
      .split(/\s+/)
      .every((word) => text.includes(word)) &&
    (search.purpose === '' || kinds.some((kind) => kind === search.purpose)) &&
    (search.position === '' || body === search.position) &&
    !loads.some((load) => load === search.without)
  );
}
