import { readHistory } from '../../../clinic/followup/readHistory.js';
import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import type { Chart } from '../../../clinic/people/chart.js';
import { tallyOf } from '../../../followup/adherence.js';
import { contradictions } from '../../../followup/course.js';
import type { History, Outcome, ProgramHistory } from '../../../followup/history.js';
import { addDays, isoDayIn } from '../../../schedule/wallClock.js';
import { quietSinceOf } from '../../../store/listening/quiet.js';
import type { Patient } from '../../../store/people/chart.js';
import { dateInWords, dayInWords, lengthInWords, timeInWords } from '../../../text/dates.js';
import { daysOfPeriod, type Period, periods } from '../../../text/periods.js';
import type { HttpResources } from '../../server/resources.js';
import type { AuthenticatedRequest } from '../../server/routing.js';
import { adviceView } from '../advice/adviceView.js';
import { unreadNotesView } from '../sessions/notesView.js';
import { type Days, daysView, doneView, tallyView } from './doneView.js';
import { feltView } from './feltView.js';
import { measuresSummary } from './measuresSummary.js';

/** The number of contradictions shown; the others are in the session log. */
const mostContradictions = 20;

/** The last weeks of a patient, for a clinician. */
export async function followUpView(
  service: PlaybackResources & Pick<HttpResources, 'store' | 'pages' | 'words' | 'now'>,
  request: AuthenticatedRequest,
  { chart, period }: { chart: Chart; period: Period },
): Promise<object> {
  const { patient } = chart;
  const history = await readHistory(service, chart);
  const quietSinceMs = await service.store.read((db) => quietSinceOf(db, patient.id));
  const until = isoDayIn(history.nowMs, history.zone);
  const days: Days = { from: addDays(until, 1 - daysOfPeriod[period]), until };
  const shown = history.programs.map((program) => ({ program, outcomes: outcomesIn(program, days) }));
  const all = shown.flatMap(({ outcomes }) => outcomes).sort((a, b) => a.dueAtMs - b.dueAtMs);
  const { zone } = history;
  return {
    patient,
    days: daysView(days),
    periods: periods.map((each) => ({
      period: each,
      words: service.words.followUp.periods[each],
      isShown: each === period,
    })),
    hasHistory: history.programs.some(({ outcomes }) => outcomes.length > 0),
    hasPrograms: history.programs.length > 0,
    ...warningsView(history, days),
    ...tallyView(tallyOf(all)),
    ...lastHeardView(history, quietSinceMs),
    ...feltView(service, history, days),
    // The newest program, most likely the active one, comes first.
    programs: shown
      .filter(({ program, outcomes }) => program.state !== 'ended' || outcomes.length > 0)
      .reverse()
      .map(({ program, outcomes }) => doneView(service, program, { outcomes, days, zone })),
    ...differencesView(service, all),
    ...(await adviceView(service, request, chart, { history })),
    ...(await measuredView(service, request, patient)),
    mayWrite: request.mayWrite,
    ...(await unreadNotesView(service, chart)),
  };
}

/** Each measure in one line; the measures page has the charts and sources. */
async function measuredView(
  service: Pick<HttpResources, 'store' | 'workshop' | 'words'>,
  request: AuthenticatedRequest,
  patient: Patient,
): Promise<object> {
  const of = { clinicId: request.clinician.clinicId, patient };
  const measures = await service.store.read((db) => measuresSummary(db, service, of));
  return {
    hasMeasures: measures.length > 0,
    measures: measures.map(({ name, last, first, change, considerations }) => ({
      name,
      last: { ...last, on: dateInWords(last.takenOn) },
      first: first === null ? null : { ...first, on: dateInWords(first.takenOn) },
      change,
      considerations,
    })),
  };
}

function outcomesIn({ outcomes }: ProgramHistory, { from, until }: Days): Outcome[] {
  return outcomes.filter(({ day }) => day >= from && day <= until);
}

/** The history of each program contains all warnings; each is counted once. */
function warningsView({ programs, zone }: History, { from, until }: Days): object {
  const [first] = programs;
  const warnings = first?.warnings ?? [];
  const open = warnings.filter(({ answeredAtMs }) => answeredAtMs === null);
  const answered = warnings.filter(({ atMs, answeredAtMs }) => {
    const day = isoDayIn(atMs, zone);
    return answeredAtMs !== null && day >= from && day <= until;
  });
  const [oldest] = open;
  return {
    openWarnings:
      oldest === undefined
        ? null
        : { count: open.length, isOne: open.length === 1, since: timeInWords(oldest.atMs, zone) },
    answeredWarnings: answered.length === 0 ? null : { count: answered.length, isOne: answered.length === 1 },
  };
}

function lastHeardView({ programs, zone }: History, quietSinceMs: number | null): object {
  const startTimes = programs.flatMap(({ outcomes }) =>
    outcomes.flatMap(({ listened }) => listened.map(({ startedAtMs }) => startedAtMs)),
  );
  return {
    lastHeard: startTimes.length === 0 ? null : timeInWords(Math.max(...startTimes), zone),
    quietSince: quietSinceMs === null ? null : dayInWords(quietSinceMs, zone),
  };
}

/** Sessions where what was heard and what was reported differ. */
function differencesView({ words }: Pick<HttpResources, 'words'>, outcomes: readonly Outcome[]): object {
  const found = contradictions(outcomes);
  return {
    hasDifferences: found.length > 0,
    differences: found.slice(0, mostContradictions).map(({ day, listened, checkIns }) => ({
      day: dateInWords(day),
      heard:
        listened.length === 0 ? null : lengthInWords(Math.max(...listened.map(({ heardMs }) => heardMs))),
      isToEnd: listened.some(({ finishedAtMs }) => finishedAtMs !== null),
      said: checkIns
        .flatMap(({ answers }) => (answers.done == null ? [] : words.amountsDone[answers.done]))
        .join('; '),
      pain: checkIns.flatMap(({ answers }) => answers.painAfter ?? []).join('; '),
    })),
    moreDifferences: Math.max(0, found.length - mostContradictions) || null,
  };
}
