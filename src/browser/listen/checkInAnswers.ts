import type { CheckInAnswers } from '../../listening/report.js';

/** In the order in which they are asked; `risingPain` only when the answers before it give cause. */
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

/** The form's fields are named as the questions; `signs` has one field for each, and one for none. */
type Given = Pick<FormData, 'get' | 'getAll'>;

const mostNoteCharacters = 2_000;
/** So many points more than before are no accident of the scale: then it is asked whether the pain stays. */
const risenByPoints = 2;
/** The warning sign that a risen pain may be. */
const risingPainSign = 'rising-pain';

/** The questions that are asked of someone who answered so far. */
export function questionsFor(answers: CheckInAnswers): Question[] {
  return questions.filter((question) => question !== 'risingPain' || hasPainRisen(answers));
}

/**
 * What a form says to a question, or null when it says nothing yet. Whether a risen pain stays is told as a warning
 * sign, and is no answer of its own.
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

/** What a question that is skipped leaves behind. A sign that is ticked is never skipped. */
export function skippedAnswer(question: Question, given: Given): CheckInAnswers {
  if (question === 'risingPain') return {};
  const signs = listSigns(given);
  return question === 'signs' && signs.length > 0 ? { signs } : { [question]: null };
}

/** All warning signs that a form names, whichever question asked for them. */
export function listSigns(given: Given): string[] {
  const signs = given.getAll('sign').map(String);
  const isRising = given.get('risingPain') === 'yes';
  return [...new Set(isRising ? [...signs, risingPainSign] : signs)];
}

/** Where the questions go on: the first that was neither answered nor skipped; the last when all were. */
export function firstUnanswered(answers: CheckInAnswers): Question {
  const isOpen = (question: Question) =>
    // It leaves no answer: whoever has not come further is asked it again.
    (question === 'risingPain' ? answers.effort : answers[question]) === undefined;
  return questionsFor(answers).find(isOpen) ?? 'note';
}

function hasPainRisen({ painBefore, painAfter }: CheckInAnswers): boolean {
  return painBefore != null && painAfter != null && painAfter - painBefore >= risenByPoints;
}
