import { shareView } from '../../../documents/noteProgram.js';
import { painView } from '../../../documents/painView.js';
import { type Point, painStandingOn } from '../../../followup/course.js';
import { groupedBy } from '../../../followup/groupedBy.js';
import { estimateScheduledSessions } from '../../../followup/recentSessions.js';
import { shareOf } from '../../../followup/wilson.js';
import { checkInAnswersSchema } from '../../../listening/report.js';
import { timetableOf } from '../../../prescription/content.js';
import { dayOfSlot } from '../../../schedule/slots.js';
import { addDays, isoDayIn } from '../../../schedule/wallClock.js';
import {
  listLastSigned,
  listRunningPrograms,
  type PeopleAnswer,
  type RecentAnswers,
  readRecentActivity,
  readRecentAnswers,
} from '../../../store/followup/clinicView.js';
import { type ListedPatient, listPatients } from '../../../store/people/patients.js';
import { dayInWords } from '../../../text/dates.js';
import { dayMs } from '../../../time/units.js';
import type { HttpResources } from '../../server/resources.js';
import type { AuthenticatedRequest } from '../../server/routing.js';

const shownDays = 14;
const shownChanges = 15;

/** All patients by name, fifty at a time; the clinic as a whole with the first page. */
export async function buildClinicOverview(
  { store, words }: Pick<HttpResources, 'store' | 'words'>,
  request: AuthenticatedRequest,
  after: string | undefined,
): Promise<object> {
  const { clinicId, clinicZone } = request.clinician;
  const { patients, hasMore } = await store.read((db) => listPatients(db, clinicId, '', after));
  const ids = patients.map(({ id }) => id);
  const recent = await store.read((db) =>
    readRecentAnswers(db, ids, isoDayIn(request.nowMs - 8 * dayMs, 'UTC')),
  );
  const programs = await programsLately(store, clinicId, request.nowMs);
  const changes =
    after === undefined ? await store.read((db) => listLastSigned(db, clinicId, shownChanges)) : [];
  const last = patients.at(-1);
  return {
    shownDays,
    isFirst: after === undefined,
    hasPeople: patients.length > 0,
    people: patients.map((patient) =>
      personView(patient, { programs, lately: recent, clinicZone, words, nowMs: request.nowMs }),
    ),
    more: hasMore && last !== undefined ? { after: last.id } : null,
    hasTitles: after === undefined && programs.length > 0,
    titles: after === undefined ? titlesView(programs) : [],
    hasChanges: changes.length > 0,
    changes: changes.map((change) => ({ ...change, when: dayInWords(change.signedAtMs, clinicZone) })),
  };
}

type ProgramLately = { patientId: string; title: string; done: number; wanted: number };

/** Approximate adherence of each active program on the days before today. */
async function programsLately(
  store: HttpResources['store'],
  clinicId: string,
  nowMs: number,
): Promise<ProgramLately[]> {
  const running = await store.read((db) => listRunningPrograms(db, clinicId));
  // One more day, for zones that are behind.
  const since = {
    sinceMs: nowMs - (shownDays + 2) * dayMs,
    sinceDay: isoDayIn(nowMs - (shownDays + 2) * dayMs, 'UTC'),
  };
  const { finished, unwell, breaks } = await store.read((db) => readRecentActivity(db, clinicId, since));
  const finishedDays = groupedBy(finished, ({ prescriptionId }) => prescriptionId);
  const unwellRows = groupedBy(unwell, ({ patientId }) => patientId);
  const breakRows = groupedBy(breaks, ({ patientId }) => patientId);
  const todays = new Map<string, string>();
  const daysBefore = new Map<string, string[]>();
  return running.map(({ id, patientId, zone, title, content, sinceMs }) => {
    const today = known(todays, zone, () => isoDayIn(nowMs, zone));
    const days = known(daysBefore, today, () =>
      Array.from({ length: shownDays }, (_, index) => addDays(today, -1 - index)),
    );
    const sinceDay = sinceMs < nowMs - (shownDays + 1) * dayMs ? '' : isoDayIn(sinceMs, zone);
    const counted = days.filter((day) => day > sinceDay);
    const away = {
      breaks: breakRows.get(patientId) ?? [],
      unwellDays: new Set((unwellRows.get(patientId) ?? []).map(({ slot }) => dayOfSlot(slot))),
    };
    const done = (finishedDays.get(id) ?? [])
      .map(({ slot }) => dayOfSlot(slot))
      .filter((day) => counted.includes(day));
    // What was done before someone fell ill that day counts as scheduled.
    const doneUnwell = done.filter((day) => away.unwellDays.has(day)).length;
    const wanted = estimateScheduledSessions(timetableOf(content), counted, away) + doneUnwell;
    return { patientId, title, done: done.length, wanted };
  });
}

function personView(
  { id, name, zone }: ListedPatient,
  {
    programs,
    lately: recent,
    clinicZone,
    words,
    nowMs,
  }: {
    programs: readonly ProgramLately[];
    lately: RecentAnswers;
    clinicZone: string;
    words: HttpResources['words'];
    nowMs: number;
  },
): object {
  const own = programs.filter(({ patientId }) => patientId === id);
  const day = (atMs: number | undefined) => (atMs === undefined ? null : dayInWords(atMs, clinicZone));
  const pain = painStandingOn(painOf(recent.answers, id), isoDayIn(nowMs, zone));
  const waits = recent.adviceWaits.get(id);
  return {
    id,
    name,
    isRunning: own.length > 0,
    ...countView(own),
    pain: pain.state === 'compared' ? painView(pain) : null,
    lastHeard: day(recent.lastHeardMs.get(id)),
    quietSince: day(recent.quietSinceMs.get(id)),
    openWarnings: recent.openWarnings.get(id) ?? null,
    advice: waits === undefined ? null : words.advice.kinds[waits],
  };
}

function painOf(answers: readonly PeopleAnswer[], patientId: string): Point[] {
  return answers
    .filter((each) => each.patientId === patientId)
    .flatMap(({ slot, atMs, answers: json }) => {
      const value = checkInAnswersSchema.parse(JSON.parse(json)).painBefore;
      return value == null ? [] : [{ day: dayOfSlot(slot), atMs, value }];
    });
}

/** Programs with the same title together, by title. */
function titlesView(programs: readonly ProgramLately[]): object[] {
  return [...groupedBy(programs, ({ title }) => title)]
    .sort(([a], [b]) => a.localeCompare(b, 'en'))
    .map(([title, own]) => ({
      title,
      people: new Set(own.map(({ patientId }) => patientId)).size,
      ...countView(own),
    }));
}

/** What was done beyond the schedule, on days of choice, counts as scheduled as well. */
function countView(programs: readonly ProgramLately[]): object {
  const done = programs.reduce((sum, each) => sum + each.done, 0);
  const wanted = programs.reduce((sum, each) => sum + Math.max(each.done, each.wanted), 0);
  return { done, wanted, share: shareView(shareOf(done, wanted)) };
}

function known<Value>(values: Map<string, Value>, key: string, make: () => Value): Value {
  const value = values.get(key) ?? make();
  values.set(key, value);
  return value;
}
