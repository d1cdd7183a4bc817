import type { InterviewDraft } from '../../../clinic/screening/interviewDraft.js';
import { answersOfDraft, type Screen } from '../../../clinic/screening/interviewScreens.js';
import { listUrgentPrecautions } from '../../../clinic/screening/screening.js';
import { answerKinds, type ScreeningAnswer } from '../../../screening/answers.js';
import { type Interview, isAskedAlone, type Precaution } from '../../../screening/interview.js';
import type { TakenScreening } from '../../../screening/takenScreening.js';
import type { Words } from '../../../text/words.js';

/** The questions of one page as shown: current answers are checked, earlier answers are only mentioned. */
export function questionViews(
  questions: readonly Precaution[],
  draft: InterviewDraft,
  last: TakenScreening | null,
  { words, isConfirmed = false }: { words: Words; isConfirmed?: boolean },
): object[] {
  // If all are asked separately, the page says so once.
  const areMixed = questions.some((question) => !isAskedAlone(question));
  return questions.map((question) => {
    const { id, name, ask, help, needsDetails } = question;
    const before = last?.answers[id];
    return {
      id,
      name,
      ask,
      help,
      askAlone: isAskedAlone(question),
      saysAlone: areMixed && isAskedAlone(question),
      needsDetails,
      // Shown again, but not checked: it may no longer be true.
      last: before === undefined ? null : { ...lastView(before, name, words), isConfirmed },
      details: draft[id]?.details ?? '',
      choices: answerKinds.map((kind) => ({
        kind,
        words: words.answers[kind],
        checked: draft[id]?.answer === kind,
      })),
    };
  });
}

function lastView({ answer, details, asked = '' }: ScreeningAnswer, name: string, words: Words): object {
  return { words: words.answers[answer], details, askedAs: asked === name ? null : asked };
}

/** The progress of an interview, overall and on one page. */
export function progressView(
  screens: readonly Screen[],
  { questions }: Screen,
  draft: InterviewDraft,
): { answered: number; all: number; leftHere: number; answeredElsewhere: number } {
  const answeredOf = (asked: readonly Precaution[]) =>
    asked.filter(({ id }) => draft[id]?.answer !== undefined).length;
  const all = screens.flatMap((screen) => screen.questions);
  const [answered, answeredHere] = [answeredOf(all), answeredOf(questions)];
  return {
    answered,
    all: all.length,
    leftHere: questions.length - answeredHere,
    answeredElsewhere: answered - answeredHere,
  };
}

/** What the answers so far require immediately. */
export function stopViews(draft: InterviewDraft, interview: Interview): readonly object[] {
  return listUrgentPrecautions(answersOfDraft(draft), interview);
}

/** All pages with their positive answers and open questions, before the interview is saved. */
export function reviewView(
  screens: readonly Screen[],
  draft: InterviewDraft,
  words: Words,
): { groups: object[]; openCount: number } {
  const groups = screens.map(({ id, name, questions }) => {
    const openCount = questions.filter((each) => draft[each.id]?.answer === undefined).length;
    const found = questions.flatMap((each) => {
      const { answer, details = '' } = draft[each.id] ?? {};
      return answer === undefined || answer === 'no'
        ? []
        : [{ name: each.name, words: words.answers[answer], details }];
    });
    return {
      id,
      name,
      openCount,
      hasFound: found.length > 0,
      found,
      isAllNo: found.length === 0 && openCount === 0,
    };
  });
  return { groups, openCount: groups.reduce((sum, { openCount }) => sum + openCount, 0) };
}
