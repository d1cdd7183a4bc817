import type { Catalogue } from '../../catalogue/catalogue.js';
import type { ScreeningAnswers } from '../../screening/answers.js';
import { type Finding, findingsOf } from '../../screening/findings.js';
import type { Workshop } from '../../session/workshop.js';
import { looseProgram } from './looseProgram.js';

/** The content of a prescription as it is worked on, right or not. */
export type Content = Readonly<Record<string, unknown>>;

/** What a person's answers say about a program, as far as its exercises are known. */
export function programFindings(
  content: Content,
  answers: ScreeningAnswers,
  workshop: Workshop,
): readonly Finding[] {
  const catalogue = clinicCatalogue(workshop);
  const exercises = looseProgram(content.program).exercises.flatMap(({ exercise }) => {
    const known = catalogue.exercises.get(exercise);
    return known === undefined ? [] : [known];
  });
  return findingsOf(answers, exercises, workshop.interview);
}

/** The catalogue that clinicians work in. */
export function clinicCatalogue({ catalogues }: Workshop): Catalogue {
  const catalogue = catalogues.get('en');
  if (catalogue === undefined) throw new RangeError('the house has no English words');
  return catalogue;
}
