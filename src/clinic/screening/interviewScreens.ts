import { type ScreeningAnswers, unanswered } from '../../screening/answers.js';
import { type Interview, isUrgent, type Precaution, questionsOf } from '../../screening/interview.js';
import type { TakenScreening } from '../../screening/takenScreening.js';
import type { InterviewDraft } from './interviewDraft.js';

/**
 * The scope of an interview: everything, the questions added since the last one, or only the urgent ones among these.
 */
export const interviewScopes = ['all', 'new', 'urgent'] as const;
export type InterviewScope = (typeof interviewScopes)[number];

/** One page: a body system with its questions. */
export type Screen = { id: string; name: string; lead: string | undefined; questions: readonly Precaution[] };

/** The pages of an interview, without those that have no question. */
export function screensOf(
  interview: Interview,
  scope: InterviewScope,
  last: Pick<TakenScreening, 'answers'> | null,
): readonly Screen[] {
  const open = new Set(last === null ? [] : unanswered(last.answers, interview).map(({ id }) => id));
  const isAsked = (precaution: Precaution) =>
    scope === 'all' || (open.has(precaution.id) && (scope === 'new' || isUrgent(precaution)));
  return interview.systems
    .map(({ id, name, lead }) => ({ id, name, lead, questions: questionsOf(interview, id).filter(isAsked) }))
    .filter(({ questions }) => questions.length > 0);
}

/** The answers in a draft, without its notes on how they were given. */
export function answersOfDraft(draft: InterviewDraft): ScreeningAnswers {
  return Object.fromEntries(
    Object.entries(draft).flatMap(([id, { answer, details }]) =>
      answer === undefined ? [] : [[id, { answer, details }]],
    ),
  );
}
