import { type ScreeningAnswers, unanswered } from '../../screening/answers.js';
import { type Interview, isUrgent, type Precaution, questionsOf } from '../../screening/interview.js';
import type { TakenScreening } from '../../screening/takenScreening.js';
import type { InterviewDraft } from './interviewDraft.js';

/** What is asked: everything, what is new since the last interview, or what of that cannot wait. */
export const interviewScopes = ['all', 'new', 'urgent'] as const;
export type InterviewScope = (typeof interviewScopes)[number];

/** One screen: a body system with what is asked of it. */
export type Screen = { id: string; name: string; lead: string | undefined; questions: readonly Precaution[] };

/** The screens of an interview, those without a question left out. */
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

/** The answers that a draft holds, without what was only noted. */
export function answersOfDraft(draft: InterviewDraft): ScreeningAnswers {
  return Object.fromEntries(
    Object.entries(draft).flatMap(([id, { answer, details }]) =>
      answer === undefined ? [] : [[id, { answer, details }]],
    ),
  );
}
