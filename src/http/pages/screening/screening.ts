import { clinicDayOf, requireMayWrite } from '../../../clinic/actor.js';
import {
  type Chart,
  hasBeenInHospital,
  readChart,
  readChartDuringWork,
} from '../../../clinic/people/chart.js';
import { refused } from '../../../clinic/refusals.js';
import {
  answerNoToRest,
  buildCombinedView,
  clearCombinedAnswers,
  questionsToConfirm,
  restoreOrigins,
  reuseLastAnswers,
} from '../../../clinic/screening/combinedAnswers.js';
import {
  discardInterviewDraft,
  type InterviewDraft,
  readInterviewDraft,
  saveInterviewDraft,
} from '../../../clinic/screening/interviewDraft.js';
import {
  answersOfDraft,
  type InterviewScope,
  interviewScopes,
  type Screen,
  screensOf,
} from '../../../clinic/screening/interviewScreens.js';
import { saveScreening } from '../../../clinic/screening/screening.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { answerKinds, missingDetails, unanswered } from '../../../screening/answers.js';
import { isAskedAlone } from '../../../screening/interview.js';
import type { TakenScreening } from '../../../screening/takenScreening.js';
import type { Patient } from '../../../store/people/chart.js';
import { dayInWords } from '../../../text/dates.js';
import { type Fields, field, treeOf } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, Routes } from '../../server/routing.js';
import { progressView, questionViews, reviewView, stopViews } from './interviewView.js';

/** The last page, where everything is reviewed and saved. */
const review = 'review';

/** An action that answers several questions at once, or undoes that; the page is shown again with its result. */
const togetherWishes = ['rest-no', 'still-so', 'undo'] as const;

type InterviewState = {
  patient: Patient;
  scope: InterviewScope;
  last: TakenScreening | null;
  screens: readonly Screen[];
  draft: InterviewDraft;
  /** For each page, by id, the questions that are only confirmed. */
  toConfirm: ReadonlyMap<string, ReadonlySet<string>>;
};

/**
 * The precaution interview, taken before a program and again whenever something has changed: one page per body system,
 * urgent questions first. Answers are kept if it is left unfinished.
 */
export function screeningRoutes(service: PageResources & Pick<HttpResources, 'workshop'>): Routes {
  const { store, workshop, words } = service;
  const { interview } = workshop;

  async function readState(request: AuthenticatedRequest, chart: Chart): Promise<InterviewState> {
    const scope = interviewScopes.find((each) => each === (request.params.scope ?? 'all'));
    if (scope === undefined) throw refused('no-such-page');
    const { patient } = chart;
    const last = await chart.screening();
    const draft = await readInterviewDraft(store, request, patient.id);
    const screens = screensOf(interview, scope, last);
    const since = last === null ? null : { screenedAtMs: last.oldestAtMs, today: clinicDayOf(request) };
    const wasAway = since !== null && (await hasBeenInHospital(chart, since));
    const earlier = { last, hasBeenInHospital: wasAway };
    const toConfirm = new Map(
      screens.map((screen) => [screen.id, questionsToConfirm(screen, scope, earlier, request.nowMs)]),
    );
    return { patient, scope, last, screens, draft, toConfirm };
  }

  const addressOf = ({ patient, scope }: InterviewState, screenId: string) =>
    `/patients/${patient.id}/screening/${scope}/${screenId}`;

  /** Where the interview continues: the first page with an open question. */
  function next(state: InterviewState): PageReply {
    const open = state.screens.find(({ questions }) =>
      questions.some(({ id }) => state.draft[id]?.answer === undefined),
    );
    return { kind: 'redirect', to: addressOf(state, open?.id ?? review) };
  }

  function page(
    request: AuthenticatedRequest,
    state: InterviewState,
    screenId: string,
    problems: readonly Problem[] = [],
  ): PageReply {
    const { patient, scope, last, screens, draft } = state;
    const at = screens.findIndex(({ id }) => id === screenId);
    const screen = screens[at];
    const stops = stopViews(draft, interview);
    const about = {
      patient,
      problems,
      hasProblems: problems.length > 0,
      lastWhen: last === null ? null : dayInWords(last.atMs, request.clinician.clinicZone),
      isAddition: scope !== 'all',
      stops,
      hasStops: stops.length > 0,
      reviewAddress: addressOf(state, review),
      count: screens.length,
      screens: screens.map(({ id, name, questions }, index) => ({
        name,
        address: addressOf(state, id),
        number: index + 1,
        isHere: id === screenId,
        left: questions.filter((each) => draft[each.id]?.answer === undefined).length || null,
      })),
    };
    const status = problems.length === 0 ? 200 : 400;
    if (screen === undefined) {
      const { groups, openCount } = reviewView(screens, draft, words);
      const linked = groups.map((group, index) => ({ ...group, address: about.screens[index]?.address }));
      const view = {
        ...about,
        groups: linked,
        openCount: openCount || null,
        maySave: screens.length > 0 && (openCount === 0 || about.hasStops),
      };
      return { kind: 'page', page: 'screening-review', status, view };
    }
    const toConfirm = state.toConfirm.get(screen.id) ?? new Set();
    const [same, anew] = [true, false].map((isSame) =>
      screen.questions.filter(({ id }) => toConfirm.has(id) === isSame),
    );
    const kept = last === null || scope === 'all' ? [] : answeredBefore(screen.id, last);
    const view = {
      ...about,
      name: screen.name,
      lead: screen.lead,
      number: at + 1,
      isFirst: at === 0,
      hasTogether: (anew ?? []).some((question) => !isAskedAlone(question)),
      questions: questionViews(anew ?? [], draft, last, { words }),
      hasSame: toConfirm.size > 0,
      same: questionViews(same ?? [], draft, last, { words, isConfirmed: true }),
      progress: progressView(screens, screen, draft),
      together: buildCombinedView(screen, draft),
      hasKept: kept.length > 0,
      kept,
    };
    return { kind: 'page', page: 'screening', status, view };
  }

  /** The last interview's answers for a body system: shown, never checked. */
  function answeredBefore(systemId: string, last: TakenScreening): object[] {
    return interview.precautions
      .filter(({ system }) => system === systemId)
      .flatMap(({ id, name }) => {
        const answer = last.answers[id];
        return answer === undefined
          ? []
          : [{ name: answer.asked ?? name, words: words.answers[answer.answer], details: answer.details }];
      });
  }

  /** What is open or lacks details on a page. */
  function problemsOf({ questions }: Screen, draft: InterviewDraft): Problem[] {
    const here = { systems: interview.systems, precautions: questions };
    const answers = answersOfDraft(draft);
    return [
      ...unanswered(answers, here).map(({ name }) => ({ message: `${name}: answer this question` })),
      ...missingDetails(answers, here).map(({ name }) => ({
        message: `${name}: enter when it was, which side, and what is allowed`,
      })),
    ];
  }

  async function answered(
    request: AuthenticatedRequest,
    state: InterviewState,
    screen: Screen,
  ): Promise<PageReply> {
    const wish = field(request.fields, 'do');
    const given = { ...state.draft, ...restoreOrigins(givenOn(screen, request.fields), state.draft) };
    const draft = answeredTogether(state, screen, wish, given);
    await saveInterviewDraft(store, request, state.patient.id, draft);
    const now = { ...state, draft };
    const at = state.screens.indexOf(screen);
    const before = state.screens[at - 1];
    if (togetherWishes.some((each) => each === wish)) return page(request, now, screen.id);
    if (wish === 'later') return { kind: 'redirect', to: `/patients/${state.patient.id}` };
    if (wish === 'back' && before !== undefined) return { kind: 'redirect', to: addressOf(state, before.id) };
    const stopsHere = stopViews(givenOn(screen, request.fields), interview).length > 0;
    if (stopsHere) return { kind: 'redirect', to: addressOf(state, review) };
    const problems = problemsOf(screen, draft);
    if (problems.length > 0) return page(request, now, screen.id, problems);
    return { kind: 'redirect', to: addressOf(state, state.screens[at + 1]?.id ?? review) };
  }

  /** Carries out an action for several questions at once; anything else changes nothing. */
  function answeredTogether(
    { toConfirm, last }: InterviewState,
    screen: Screen,
    wish: string,
    given: InterviewDraft,
  ): InterviewDraft {
    const confirmed = toConfirm.get(screen.id) ?? new Set();
    if (wish === 'rest-no') return answerNoToRest(given, screen, confirmed);
    if (wish === 'still-so' && last !== null) return reuseLastAnswers(given, confirmed, last);
    return wish === 'undo' ? clearCombinedAnswers(given, screen) : given;
  }

  async function saved(request: AuthenticatedRequest, state: InterviewState): Promise<PageReply> {
    const { patient, scope, screens, draft } = state;
    const asks = new Set(screens.flatMap(({ questions }) => questions.map(({ id }) => id)));
    const given = Object.entries(answersOfDraft(draft)).filter(([id]) => asks.has(id));
    const taking = { patientId: patient.id, answers: Object.fromEntries(given), isAddition: scope !== 'all' };
    const result = await attempt(() => saveScreening(service, request, taking));
    if (result.kind === 'refused')
      return page(request, state, review, withSentences(result.refusals, service.words).map(withoutPath));
    await discardInterviewDraft(store, request, patient.id);
    return { kind: 'redirect', to: `/patients/${patient.id}` };
  }

  async function begin(request: AuthenticatedRequest): Promise<PageReply> {
    requireMayWrite(request);
    return next(await readState(request, await readChart(service, request, request.params.id ?? '')));
  }

  return new Routes(service)
    .authenticatedRoute('get', '/patients/:id/screening', begin)
    .authenticatedRoute('get', '/patients/:id/screening/:scope', begin)
    .authenticatedRoute('get', '/patients/:id/screening/:scope/:screen', async (request) => {
      requireMayWrite(request);
      const state = await readState(
        request,
        await readChartDuringWork(service, request, request.params.id ?? ''),
      );
      const { screen = review } = request.params;
      if (screen !== review && state.screens.every(({ id }) => id !== screen)) {
        throw refused('no-such-page');
      }
      return page(request, state, screen);
    })
    .authenticatedRoute('post', '/patients/:id/screening/:scope/:screen', async (request) => {
      requireMayWrite(request);
      const state = await readState(
        request,
        await readChartDuringWork(service, request, request.params.id ?? ''),
      );
      const screen = state.screens.find(({ id }) => id === request.params.screen);
      if (screen !== undefined) return answered(request, state, screen);
      if (request.params.screen !== review) throw refused('no-such-page');
      return saved(request, state);
    });
}

function withoutPath({ path: _path, ...problem }: Problem): Problem {
  return problem;
}

/** Fields `answers.ID.answer` and `answers.ID.details` of the questions of one page. */
function givenOn({ questions }: Screen, fields: Fields): InterviewDraft {
  const tree = treeOf(fields, 'answers.');
  return Object.fromEntries(
    questions.map(({ id }) => {
      const given = tree[id];
      const { answer, details } = typeof given === 'object' ? given : {};
      const kind = answerKinds.find((each) => each === answer);
      const trimmedDetails = typeof details === 'string' ? details.slice(0, 500) : '';
      return [id, { ...(kind === undefined ? {} : { answer: kind }), details: trimmedDetails }];
    }),
  );
}
