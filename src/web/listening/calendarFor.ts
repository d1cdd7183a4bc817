import { type CalendarEntry, calendarOf } from '../../documents/calendar.js';
import { timetableSchema } from '../../prescription/content.js';
import { type Occurrence, occurrencesOf, type PlanHistory } from '../../schedule/calendar.js';
import { addDays, isoDayIn, startOfDayMs } from '../../schedule/wallClock.js';
import { breakHistoryOf } from '../../store/careBreaks.js';
import { type Clinic, clinicById } from '../../store/clinics.js';
import { warningsOf } from '../../store/listeningRecords.js';
import type { Db } from '../../store/openStore.js';
import { type Patient, patientById } from '../../store/patients.js';
import {
  type Prescription,
  prescriptionsOf,
  type SignedVersion,
  stateChangesOf,
  versionsOf,
} from '../../store/prescriptions.js';
import type { Service } from '../service.js';
import type { Listener } from './access.js';
import { programOfSession } from './sessions.js';

/** What lies further back has no alarm any more; twelve weeks ahead are a usual course. Our choice, no source. */
const reach = { backDays: 14, aheadDays: 84 };
/** A stop should be seen on the same day. Programs may ask less often, whatever they are told. */
const refreshMinutes = 60;
/** Calendars show blocks, and a session is not over to the second. */
const wholeMinutes = 5;
const mostWarnings = 10_000;

/**
 * The sessions of a patient as a calendar. What was paused, ended or changed, lies in a break, or is held back by a
 * warning sign stands in it as cancelled.
 */
export async function calendarFor(service: Service, listener: Listener): Promise<string> {
  const { store, pages } = service;
  const nowMs = service.now();
  const [own] = listener.patients;
  if (own === undefined) throw new RangeError('a calendar is of one patient');
  const { clinic, patient, programs } = await store.read((db) =>
    readPlans(db, listener.clinicId, own.patientId),
  );
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

type Plans = {
  clinic: Clinic;
  patient: Patient;
  programs: { prescription: Prescription; versions: SignedVersion[]; history: PlanHistory }[];
};

async function readPlans(db: Db, clinicId: string, patientId: string): Promise<Plans> {
  const clinic = await clinicById(db, clinicId);
  const patient = await patientById(db, clinicId, patientId);
  if (patient === null) throw new RangeError('a link without its patient');
  const breaks = await breakHistoryOf(db, patientId);
  const warnings = await warningsOf(db, patientId, mostWarnings);
  const holds = warnings.map(({ receivedAtMs, answer }) => ({
    fromMs: receivedAtMs,
    untilMs: answer?.atMs ?? null,
  }));
  const programs: Plans['programs'] = [];
  for (const prescription of await prescriptionsOf(db, clinicId, patientId)) {
    const versions = await versionsOf(db, prescription.id);
    const history: PlanHistory = {
      prescriptionId: prescription.id,
      zone: patient.zone,
      zoneRevision: patient.revision,
      versions: versions.map(({ number, signedAtMs, content }) => ({
        number,
        signedAtMs,
        timetable: timetableSchema.parse(JSON.parse(content)),
      })),
      states: await stateChangesOf(db, prescription.id),
      breaks,
      holds,
    };
    programs.push({ prescription, versions, history });
  }
  return { clinic, patient, programs };
}

/**
 * How long the sessions of a version take: its first one, which has the most words. Null when today's catalogue can no
 * longer say the version.
 */
async function minutesOf(
  { versions: readVersions, lengths, workshop }: Service,
  { id }: Prescription,
  versions: readonly SignedVersion[],
  number: number,
): Promise<number | null> {
  const version = versions.find((each) => each.number === number);
  const program = version === undefined ? undefined : readVersions.read(id, version)?.program;
  if (program === undefined) return null;
  const sessionNumber = program.session.number;
  const place = { prescriptionId: id, versionNumber: number, sessionNumber };
  const durationMs = await lengths.durationMs(workshop, programOfSession(program, sessionNumber), place);
  return Math.ceil(durationMs / (wholeMinutes * 60_000)) * wholeMinutes;
}

function entryOf(
  { pages }: Service,
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
