import { dayMs } from '../time/units.js';
import { oldestAnswerAtMs, type ScreeningAnswers, screeningAnswersSchema, unanswered } from './answers.js';
import type { Interview } from './interview.js';

/** A precaution interview as recorded. */
export type TakenScreening = {
  id: string;
  answers: ScreeningAnswers;
  clinicianName: string;
  atMs: number;
  /** When the oldest of its answers was given: earlier than the interview if only new questions were asked. */
  oldestAtMs: number;
};

/**
 * Reads a patient's newest interview from its row; null before the first. A damaged one counts as none: the patient is
 * screened again.
 */
export function readScreening(
  newest: { id: string; answers: string | null; clinicianName: string; atMs: number } | null,
): TakenScreening | null {
  if (newest?.answers == null) return null;
  const answers = screeningAnswersSchema.parse(JSON.parse(newest.answers));
  return { ...newest, answers, oldestAtMs: oldestAnswerAtMs(answers, newest.atMs) };
}

/**
 * Rule SCREEN-3: how long an interview is valid; after that, everything is asked again before anything is signed (our
 * choice).
 */
const holdsForMs = 90 * dayMs;

/** Returns whether an interview is too old to sign anything on it or to add to it. */
export function isTooOld({ oldestAtMs }: Pick<TakenScreening, 'oldestAtMs'>, nowMs: number): boolean {
  return nowMs - oldestAtMs > holdsForMs;
}

/**
 * Returns the names of questions that are open before anything can be signed: all of them if the interview is too old.
 */
export function openQuestions(
  screening: Pick<TakenScreening, 'answers' | 'oldestAtMs'>,
  { interview }: { interview: Interview },
  nowMs: number,
): string[] {
  const open = isTooOld(screening, nowMs) ? interview.precautions : unanswered(screening.answers, interview);
  return open.map(({ name }) => name);
}
