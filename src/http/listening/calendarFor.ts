import { readPlans } from '../../clinic/followup/readHistory.js';
import type { Listener } from '../../clinic/listening/listener.js';
import type { PlaybackResources } from '../../clinic/listening/notPlayable.js';
import { chartById } from '../../clinic/people/chart.js';
import { type CalendarEntry, calendarOf } from '../../documents/calendar.js';
import { programOfSession } from '../../prescription/sessionProgram.js';
import { type Occurrence, occurrencesOf } from '../../schedule/calendar.js';
import { addDays, isoDayIn, startOfDayMs } from '../../schedule/wallClock.js';
import { type Clinic, clinicById } from '../../store/accounts/clinics.js';
import type { Prescription, SignedVersion } from '../../store/people/chart.js';
import type { HttpResources } from '../server/resources.js';

/** Older entries no longer have an alarm; twelve weeks ahead cover a usual course. Our choice, no source. */
const reach = { backDays: 14, aheadDays: 84 };
/** A stop should be seen on the same day. Apps may poll less often, whatever this says. */
const refreshMinutes = 60;
/** Calendars show blocks, and a session does not end to the second. */
const wholeMinutes = 5;

/**
 * A patient's sessions as a calendar. Sessions that are paused, ended, changed, in a break, or held by a warning sign
 * are marked as canceled.
 */
export async function calendarFor(
  service: PlaybackResources & Pick<HttpResources, 'store' | 'pages' | 'now'>,
  listener: Listener,
): Promise<string> {
  const { store, pages } = service;
  const nowMs = service.now();
  const [own] = listener.patients;
  if (own === undefined) throw new RangeError('a calendar is of one patient');
  const clinic = await store.read((db) => clinicById(db, listener.clinicId));
  const chart = await chartById(store, listener.clinicId, own.patientId);
  const { patient } = chart;
  const { programs } = await readPlans(chart);
  const entries: CalendarEntry[] = [];
  for (const { prescription, versions, history } of programs) {
    const minutes = new Map<number, number | null>();
    for (const occurrence of occurrencesOf(history, nowMs, reach)) {
      const { versionNumber: number } = occurrence;
      if (!minutes.has(number)) minutes.set(number, await minutesOf(service, prescription, versions, number));
      entries.push(entryOf(service, occurrence, { minutes: minutes.get(number) ?? null, clinic }));
    }
  }
  const today = isoDayIn(nowMs, patient.zone);
  return calendarOf({
    name: pages.part('calendar-name', {}).trim(),
    zone: patient.zone,
    fromMs: startOfDayMs(addDays(today, -reach.backDays), patient.zone),
    untilMs: startOfDayMs(addDays(today, reach.aheadDays + 1), patient.zone),
    refreshMinutes,
    entries: entries.sort((a, b) => a.startsAtMs - b.startsAtMs || (a.uid < b.uid ? -1 : 1)),
  });
}

/**
 * The length of a version's sessions: of the first one, which has the most words. Null if today's catalogue can no
 * longer represent the version, or its wording does not fit.
 */
async function minutesOf(
  { versions: readVersions, lengths, workshop }: PlaybackResources,
  { id }: Prescription,
  versions: readonly SignedVersion[],
  number: number,
): Promise<number | null> {
  const version = versions.find((each) => each.number === number);
  const program = version === undefined ? undefined : readVersions.read(id, version)?.program;
  if (program === undefined) return null;
  const sessionNumber = program.session.number;
  const place = { prescriptionId: id, versionNumber: number, sessionNumber };
  const length = await lengths.latelyOrNull(workshop, programOfSession(program, sessionNumber), place);
  return length === null ? null : Math.ceil(length.durationMs / (wholeMinutes * 60_000)) * wholeMinutes;
}

function entryOf(
  { pages }: Pick<HttpResources, 'pages'>,
  occurrence: Occurrence,
  { minutes, clinic }: { minutes: number | null; clinic: Clinic },
): CalendarEntry {
  const { isCancelled, daysToChoose } = occurrence;
  const view = { isCancelled, daysToChoose, isOneDay: daysToChoose === 1, minutes, clinic };
  return {
    ...occurrence,
    minutes,
    summary: pages.part('calendar-summary', view).trim(),
    description: pages.part('calendar-about', view).trim(),
  };
}
