import type { Listener } from '../../clinic/listening/listener.js';
import type { PlaybackResources } from '../../clinic/listening/notPlayable.js';
import { chartById, readPlans } from '../../clinic/people/chart.js';
import { type CalendarEntry, calendarOf } from '../../documents/calendar.js';
import { programOfSession } from '../../prescription/sessionProgram.js';
import { type Occurrence, occurrencesOf } from '../../schedule/calendar.js';
import { addDays, isoDayIn, startOfDayMs } from '../../schedule/wallClock.js';
import { type Clinic, clinicById } from '../../store/accounts/clinics.js';
import type { Prescription, SignedVersion } from '../../store/prescribing/prescriptions.js';
import type { HttpResources } from '../server/resources.js';

/** What lies further back has no alarm any longer; twelve weeks ahead are a usual course. Our choice, no source. */
const reach = { backDays: 14, aheadDays: 84 };
/** A stop should be seen on the same day. Programs may ask less often, whatever they are told. */
const refreshMinutes = 60;
/** Calendars show blocks, and a session is not over to the second. */
const wholeMinutes = 5;

/**
 * The sessions of a patient as a calendar. What was paused, ended or changed, lies in a break, or is held back by a
 * warning sign stands in it as canceled.
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
 * How long the sessions of a version take: its first one, which has the most words. Null when today's catalogue can no
 * longer say the version, or its words have no room.
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
