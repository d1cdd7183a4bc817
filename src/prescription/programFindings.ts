import type { Catalogue } from '../catalogue/catalogue.js';
import { StillcountError } from '../errors/stillcountError.js';
import type { ScreeningAnswers } from '../screening/answers.js';
import { type Finding, findingsOf, lyingDownAndGettingUp } from '../screening/findings.js';
import type { Interview } from '../screening/interview.js';
import { listUnsettled, type Settlements, settlementsSchema } from '../screening/settlements.js';
import { type ReadPrescription, readPrescription } from './content.js';
import { looseProgram } from './looseProgram.js';

/** What work is judged by: the exercises of each language, and the interview with its rules. */
export type Rulebook = { catalogues: ReadonlyMap<string, Catalogue>; interview: Interview };

/** The content of a prescription as it is worked on, right or not. */
export type Content = Readonly<Record<string, unknown>>;

/** What a person's answers say about a program, as far as its exercises are known. */
export function programFindings(
  content: Content,
  answers: ScreeningAnswers,
  workshop: Rulebook,
): readonly Finding[] {
  const catalogue = clinicCatalogue(workshop);
  const entries = looseProgram(content.program).exercises;
  // Without exercises there is no session yet.
  if (entries.length === 0) return [];
  const exercises = entries.flatMap(({ exercise }) => {
    const known = catalogue.exercises.get(exercise);
    return known === undefined ? [] : [known];
  });
  return findingsOf(answers, [...exercises, lyingDownAndGettingUp], workshop.interview);
}

/**
 * What a person's answers leave open in a version, or in unsigned work.
 *
 * @param today ISO date, in the clinic's zone
 */
export function openFindings(
  content: Content,
  answers: ScreeningAnswers,
  workshop: Rulebook,
  today: string,
): readonly Finding[] {
  return listUnsettled(programFindings(content, answers, workshop), settlementsOf(content), today);
}

/** The settlements of unsigned work; none when they cannot be read, which the session then says. */
export function settlementsOf(content: Content): Settlements {
  const read = settlementsSchema.safeParse(content.settlements ?? {});
  return read.success ? read.data : {};
}

/** A version, or unsigned work, as far as today's catalogue allows it: null when it does not. */
export function readOrNull(
  content: unknown,
  { catalogues }: Pick<Rulebook, 'catalogues'>,
): ReadPrescription | null {
  try {
    return readPrescription(content, 'this program', catalogues);
  } catch (error) {
    if (error instanceof StillcountError) return null;
    throw error;
  }
}

/** The name of the precaution that a rule belongs to; a rule that is gone keeps its id. */
export function ruleNames({ interview }: Pick<Rulebook, 'interview'>): (ruleId: string) => string {
  const names = new Map(
    interview.precautions.flatMap(({ name, rules }) => rules.map(({ id }) => [id, name] as const)),
  );
  return (ruleId) => names.get(ruleId) ?? ruleId;
}

/** The catalogue that clinicians work in. */
export function clinicCatalogue({ catalogues }: Pick<Rulebook, 'catalogues'>): Catalogue {
  const catalogue = catalogues.get('en');
  if (catalogue === undefined) throw new RangeError('the English templates are missing');
  return catalogue;
}
