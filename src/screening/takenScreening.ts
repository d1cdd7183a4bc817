import { dayMs } from '../time/units.js';
import { oldestAnswerAtMs, type ScreeningAnswers, screeningAnswersSchema, unanswered } from './answers.js';
import type { Interview } from './interview.js';

/** A precaution interview as it was recorded. */
export type TakenScreening = {
  id: string;
  answers: ScreeningAnswers;
  clinicianName: string;
  atMs: number;
  /** When the oldest of its answers was given: earlier than the interview where only new questions were asked. */
  oldestAtMs: number;
};

/**
 * A person's newest interview from its row, or null before the first. One that is damaged counts as none: they are
 * asked again.
 */
export function readScreening(
  newest: { id: string; answers: string | null; clinicianName: string; atMs: number } | null,
): TakenScreening | null {
  if (newest?.answers == null) return null;
  const answers = screeningAnswersSchema.parse(JSON.parse(newest.answers));
  return { ...newest, answers, oldestAtMs: oldestAnswerAtMs(answers, newest.atMs) };
}

/**
 * Rule SCREEN-3: an interview holds for this long; then everything is asked again before something is signed (our
 * choice).
 */
const holdsForMs = 90 * dayMs;

/** Whether an interview is too old for anything to be signed, or added to it. */
export function isTooOld({ oldestAtMs }: Pick<TakenScreening, 'oldestAtMs'>, nowMs: number): boolean {
  return nowMs - oldestAtMs > holdsForMs;
}

/** The names of questions that are open before anything can be signed: all of them when it was too long ago. */
export function openQuestions(
  screening: Pick<TakenScreening, 'answers' | 'oldestAtMs'>,
  { interview }: { interview: Interview },
  nowMs: number,
): string[] {
  const open = isTooOld(screening, nowMs) ? interview.precautions : unanswered(screening.answers, interview);
  return open.map(({ name }) => name);
}
