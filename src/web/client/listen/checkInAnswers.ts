import type { CheckInAnswers } from '../../../listening/report.js';

/** In the order in which they are asked. */
export const questions = ['done', 'painBefore', 'painAfter', 'effort', 'signs', 'note'] as const;
export type Question = (typeof questions)[number];

/** The form's fields are named as the questions; `signs` has one field for each, and one for none. */
type Given = Pick<FormData, 'get' | 'getAll'>;

const mostNoteCharacters = 2_000;

/** What a form says to a question, or null when it says nothing yet. */
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
    case 'signs': {
      const signs = given.getAll('sign').map(String);
      return signs.length > 0 || given.get('no-sign') !== null ? { signs } : null;
    }
    case 'note': {
      const note = String(given.get('note') ?? '').trim();
      return { note: note === '' ? null : note.slice(0, mostNoteCharacters) };
    }
  }
}

/** Where the questions go on: the first that was neither answered nor skipped; the last when all were. */
export function firstUnanswered(answers: CheckInAnswers): Question {
  return questions.find((question) => answers[question] === undefined) ?? 'note';
}
