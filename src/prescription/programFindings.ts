import type { Catalogue } from '../catalogue/catalogue.js';
import { StillcountError } from '../errors/stillcountError.js';
import type { ScreeningAnswers } from '../screening/answers.js';
import { type Finding, findingsOf, lyingDownAndGettingUp } from '../screening/findings.js';
import type { Interview } from '../screening/interview.js';
import { listUnsettled, type Settlements, settlementsSchema } from '../screening/settlements.js';
import { type ReadPrescription, readPrescription } from './content.js';
import { looseProgram } from './looseProgram.js';

/** The basis for checking drafts: the exercises of each language, and the interview with its rules. */
export type Rulebook = { catalogues: ReadonlyMap<string, Catalogue>; interview: Interview };

/** The content of a draft prescription, valid or not. */
export type Content = Readonly<Record<string, unknown>>;

/** Returns the findings of a person's answers about a program, as far as its exercises are known. */
export function programFindings(
  content: Content,
  answers: ScreeningAnswers,
  workshop: Rulebook,
): readonly Finding[] {
  const catalogue = clinicCatalogue(workshop);
  const entries = looseProgram(content.program).exercises;
  // A program without exercises has no session yet.
  if (entries.length === 0) return [];
  const exercises = entries.flatMap(({ exercise }) => {
    const known = catalogue.exercises.get(exercise);
    return known === undefined ? [] : [known];
  });
  return findingsOf(answers, [...exercises, lyingDownAndGettingUp], workshop.interview);
}

/**
 * Returns the findings that are still open in a version or a draft.
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

/** Returns the settlements of a draft; none when they cannot be read, which reading the draft reports. */
export function settlementsOf(content: Content): Settlements {
  const read = settlementsSchema.safeParse(content.settlements ?? {});
  return read.success ? read.data : {};
}

/** Reads a version or a draft with the current catalogue; null when the catalogue rejects it. */
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

/** Returns a function that gives the name of a rule's precaution; a rule that no longer exists is shown by its id. */
export function ruleNames({ interview }: Pick<Rulebook, 'interview'>): (ruleId: string) => string {
  const names = new Map(
    interview.precautions.flatMap(({ name, rules }) => rules.map(({ id }) => [id, name] as const)),
  );
  return (ruleId) => names.get(ruleId) ?? ruleId;
}

/** Returns the catalogue that clinicians use. */
export function clinicCatalogue({ catalogues }: Pick<Rulebook, 'catalogues'>): Catalogue {
  const catalogue = catalogues.get('en');
  if (catalogue === undefined) throw new RangeError('the English templates are missing');
  return catalogue;
}
