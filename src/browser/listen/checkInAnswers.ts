import type { CheckInAnswers } from '../../listening/report.js';

/** The questions in order; `risingPain` is asked only when earlier answers call for it. */
export const questions = [
  'done',
  'painBefore',
  'painAfter',
  'risingPain',
  'effort',
  'signs',
  'note',
] as const;
export type Question = (typeof questions)[number];

/** The form's fields have the names of the questions; `signs` has one field per sign, and one for none. */
type Given = Pick<FormData, 'get' | 'getAll'>;

const mostNoteCharacters = 2_000;
/** A rise by this many points is more than chance; the listener is then asked whether the pain persists. */
const risenByPoints = 2;
/** The warning sign for pain that has risen and persists. */
const risingPainSign = 'rising-pain';

/** Returns the questions to ask, given the answers so far. */
export function questionsFor(answers: CheckInAnswers): Question[] {
  return questions.filter((question) => question !== 'risingPain' || hasPainRisen(answers));
}

/**
 * Returns a form's answer to a question, or null when there is none yet. Whether risen pain persists is reported as a
 * warning sign, not as an answer.
 */
export function answerOf(question: Question, given: Given): CheckInAnswers | null {
  switch (question) {
    case 'done': {
      const done = given.get('done');
      return done === 'all' || done === 'most' || done === 'some' || done === 'none' ? { done } : null;
    }
    case 'painBefore':
    case 'painAfter':
    case 'effort': {
      const chosen = given.get(question);
      return chosen === null ? null : { [question]: Number(chosen) };
    }
    case 'risingPain':
      return given.get('risingPain') === null ? null : {};
    case 'signs': {
      const signs = listSigns(given);
      return signs.length > 0 || given.get('no-sign') !== null ? { signs } : null;
    }
    case 'note': {
      const note = String(given.get('note') ?? '').trim();
      return { note: note === '' ? null : note.slice(0, mostNoteCharacters) };
    }
  }
}

/** Returns the answer for a skipped question. A ticked sign is never skipped. */
export function skippedAnswer(question: Question, given: Given): CheckInAnswers {
  if (question === 'risingPain') return {};
  const signs = listSigns(given);
  return question === 'signs' && signs.length > 0 ? { signs } : { [question]: null };
}

/** Returns all warning signs that a form names, from any question. */
export function listSigns(given: Given): string[] {
  const signs = given.getAll('sign').map(String);
  const isRising = given.get('risingPain') === 'yes';
  return [...new Set(isRising ? [...signs, risingPainSign] : signs)];
}

/** Returns the question to continue with: the first that is neither answered nor skipped, or the last when all are. */
export function firstUnanswered(answers: CheckInAnswers): Question {
  const isOpen = (question: Question) =>
    // `risingPain` stores no answer, so it is asked again until the next question has one.
    (question === 'risingPain' ? answers.effort : answers[question]) === undefined;
  return questionsFor(answers).find(isOpen) ?? 'note';
}

function hasPainRisen({ painBefore, painAfter }: CheckInAnswers): boolean {
  return painBefore != null && painAfter != null && painAfter - painBefore >= risenByPoints;
}
