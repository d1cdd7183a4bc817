import { isAskedAlone, type Precaution } from '../../screening/interview.js';
import { isTooOld, type TakenScreening } from '../../screening/takenScreening.js';
import type { InterviewDraft } from './interviewDraft.js';
import type { InterviewScope, Screen } from './interviewScreens.js';

/** The answers of the last interview, and whether there has been a hospital stay since then. */
export type Earlier = { last: TakenScreening | null; hasBeenInHospital: boolean };

/**
 * Questions of a page for which only confirmation is needed: they concern lasting conditions and were answered
 * recently. After a hospital stay, or a long time, everything is asked again.
 */
export function questionsToConfirm(
  { questions }: Screen,
  scope: InterviewScope,
  { last, hasBeenInHospital }: Earlier,
  nowMs: number,
): ReadonlySet<string> {
  if (scope !== 'all' || last === null || hasBeenInHospital || isTooOld(last, nowMs)) return new Set();
  const isSure = (id: string) => ['yes', 'no'].includes(last.answers[id]?.answer ?? '');
  // An answer given before a question was widened says nothing about today's question.
  const isSameQuestion = ({ id, name }: Precaution) => (last.answers[id]?.asked ?? name) === name;
  return new Set(
    questions
      .filter(
        (question) =>
          question.lasting && !isAskedAlone(question) && isSure(question.id) && isSameQuestion(question),
      )
      .map(({ id }) => id),
  );
}

/**
 * Rule SCREEN-10: answers No to the open questions of a page, except those to be asked separately or only confirmed.
 */
export function answerNoToRest(
  draft: InterviewDraft,
  { questions }: Screen,
  toConfirm: ReadonlySet<string>,
): InterviewDraft {
  const rest = questions.filter(
    (question) =>
      !isAskedAlone(question) && !toConfirm.has(question.id) && draft[question.id]?.answer === undefined,
  );
  const answered = rest.map(({ id }) => [
    id,
    { answer: 'no' as const, details: draft[id]?.details ?? '', together: 'rest' as const },
  ]);
  return { ...draft, ...Object.fromEntries(answered) };
}

/** Keeps the previous answers that still hold, where no new one was given. */
export function reuseLastAnswers(
  draft: InterviewDraft,
  toConfirm: ReadonlySet<string>,
  last: Pick<TakenScreening, 'answers'>,
): InterviewDraft {
  const answered = [...toConfirm].flatMap((id) => {
    const before = last.answers[id];
    if (before === undefined || draft[id]?.answer !== undefined) return [];
    const { answer, details } = before;
    return [[id, { answer, details, together: 'same' as const }]];
  });
  return { ...draft, ...Object.fromEntries(answered) };
}

/** Undoes the combined answers of a page; those questions are open again. */
export function clearCombinedAnswers(draft: InterviewDraft, { questions }: Screen): InterviewDraft {
  const here = new Set(questions.map(({ id }) => id));
  return Object.fromEntries(
    Object.entries(draft).map(([id, answered]) =>
      here.has(id) && answered.together !== undefined
        ? [id, { details: answered.together === 'same' ? '' : answered.details }]
        : [id, answered],
    ),
  );
}

/** Answers as a form sends them, each still marked as given together unless it was changed. */
export function restoreOrigins(answered: InterviewDraft, before: InterviewDraft): InterviewDraft {
  return Object.fromEntries(
    Object.entries(answered).map(([id, { answer, details }]) => {
      const was = before[id];
      const isAsItWas = was?.answer === answer && was?.details === details;
      const together = isAsItWas ? was.together : undefined;
      return [id, { answer, details, ...(together === undefined ? {} : { together }) }];
    }),
  );
}

/** What was answered together on a page, how much of it, and what is left to be asked separately. */
export function buildCombinedView({ questions }: Screen, draft: InterviewDraft): object | null {
  const those = (kind: 'rest' | 'same') => {
    const names = questions.filter(({ id }) => draft[id]?.together === kind).map(({ name }) => name);
    return names.length === 0
      ? null
      : { count: names.length, isOne: names.length === 1, names: names.join('; ') };
  };
  const [rest, same] = [those('rest'), those('same')];
  if (rest === null && same === null) return null;
  const alone = questions.filter(
    (question) => isAskedAlone(question) && draft[question.id]?.answer === undefined,
  );
  return { rest, same, aloneLeft: alone.map(({ name }) => name).join('; ') };
}
