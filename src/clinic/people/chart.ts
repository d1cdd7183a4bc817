import { timetableOf } from '../../prescription/content.js';
import type { PlanHistory } from '../../schedule/calendar.js';
import { readScreening } from '../../screening/takenScreening.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import { findUnplayable, listUnplayablePeriods } from '../../store/attention/notPlayed.js';
import { openWarningSince } from '../../store/attention/openWarning.js';
import type { Db, Store } from '../../store/engine/openStore.js';
import { adviceAnswersOf } from '../../store/followup/adviceAnswers.js';
import { unreadNotesOf } from '../../store/followup/notes.js';
import { listenedOf } from '../../store/listening/listened.js';
import { type Warning, warningsOf } from '../../store/listening/listeningRecords.js';
import { reportedOf } from '../../store/listening/reported.js';
import { breakHistoryOf, breaksOf } from '../../store/people/careBreaks.js';
import { caregiversOf, consentsOf } from '../../store/people/caregivers.js';
import { type Patient, patientById } from '../../store/people/patients.js';
import {
  type Prescription,
  prescriptionsOf,
  type SignedVersion,
  stateChangesOf,
  versionsOf,
} from '../../store/prescribing/prescriptions.js';
import { newestScreening } from '../../store/screening/screenings.js';
import { refused } from '../refusals.js';

/** More than anyone ever reported. */
const mostWarnings = 10_000;

/**
 * A patient's record for one command or page: opened once, at the entry point, and passed down. Each part is read on
 * first use and only once, so two functions see the same data. It does not see later writes; what must hold at the time
 * of writing is read from another chart, opened by {@link lockChart}.
 */
export type Chart = Parts & { patient: Patient };
/** The parts of a chart, for callers that do not need the patient's own row. */
export type Parts = ReturnType<typeof openChartParts>;

/** Opens the record of a patient whom the caller has found in the clinic. */
export function openChart(store: Pick<Store, 'read'>, clinicId: string, patient: Patient): Chart {
  return { patient, ...openChartParts(store, clinicId, patient.id) };
}

/**
 * The same for a patient by id.
 *
 * @throws RangeError if the clinic has no such patient
 */
export async function chartById(
  store: Pick<Store, 'read'>,
  clinicId: string,
  patientId: string,
): Promise<Chart> {
  const patient = await store.read((db) => patientById(db, clinicId, patientId));
  if (patient === null) throw new RangeError('a chart is of somebody whom the clinic has');
  return openChart(store, clinicId, patient);
}

/**
 * Locks a patient until the transaction ends, and opens the record again: what was read before may have changed in the
 * meantime.
 *
 * @throws Refused if the patient has been erased in the meantime
 */
export async function lockChart(db: Db, { clinicId, patient: { id } }: Chart): Promise<Chart> {
  await lockPatient(db, id, clinicId);
  const patient = await patientById(db, clinicId, id);
  if (patient === null) throw refused('no-such-person');
  return openChart({ read: (work) => work(db) }, clinicId, patient);
}

/** The parts of a record, each read on first use and only once. */
export function openChartParts({ read }: Pick<Store, 'read'>, clinicId: string, patientId: string) {
  const part = <Result>(reading: (db: Db) => Promise<Result>) => once(() => read(reading));
  const newestInterview = part((db) => newestScreening(db, patientId));
  return {
    clinicId,
    /** Newest first. */
    programs: part((db) => prescriptionsOf(db, clinicId, patientId)),
    /** All versions of one of the programs, newest first. */
    versions: onceEach((prescriptionId) => read((db) => versionsOf(db, prescriptionId))),
    /** When a program was paused, resumed or ended, newest first. */
    stateChanges: onceEach((prescriptionId) => read((db) => stateChangesOf(db, prescriptionId))),
    /** Which active programs cannot be played, and since when that is known. */
    notPlayed: part((db) => findUnplayable(db, [patientId])),
    notPlayableStretches: part((db) => listUnplayablePeriods(db, patientId)),
    newestInterview,
    /** The current interview; null before the first, and for a damaged one. */
    screening: once(async () => readScreening(await newestInterview())),
    /** Days on which nothing is due. */
    breaks: part((db) => breaksOf(db, patientId)),
    breakHistory: part((db) => breakHistoryOf(db, patientId)),
    /** When the oldest unanswered warning sign was reported, or null. */
    openWarningSince: part((db) => openWarningSince(db, patientId)),
    /** Newest first. */
    warnings: part((db) => warningsOf(db, patientId, mostWarnings)),
    unreadNotes: part((db) => unreadNotesOf(db, patientId)),
    listened: part((db) => listenedOf(db, patientId)),
    reported: part((db) => reportedOf(db, patientId)),
    /** How clinicians answered earlier advice, newest first. */
    adviceAnswers: part((db) => adviceAnswersOf(db, patientId)),
    caregivers: part((db) => caregiversOf(db, patientId)),
    consents: part((db) => consentsOf(db, patientId)),
  };
}

/** Everything that ever affected when a patient's programs are due. */
export type Plans = {
  /** Newest first, each with its versions, also newest first. */
  programs: { prescription: Prescription; versions: readonly SignedVersion[]; history: PlanHistory }[];
  warnings: readonly Warning[];
};

/** Reads from a chart when the patient's programs were and are due. */
export async function readPlans(chart: Chart): Promise<Plans> {
  const { patient } = chart;
  const breaks = await chart.breakHistory();
  const warnings = await chart.warnings();
  const notPlayable = await chart.notPlayableStretches();
  const holds = warnings.map(({ receivedAtMs, answer }) => ({
    fromMs: receivedAtMs,
    untilMs: answer?.atMs ?? null,
  }));
  const programs: Plans['programs'] = [];
  for (const prescription of await chart.programs()) {
    const versions = await chart.versions(prescription.id);
    const history: PlanHistory = {
      prescriptionId: prescription.id,
      zone: patient.zone,
      zoneRevision: patient.revision,
      versions: versions.map(({ number, signedAtMs, content }) => ({
        number,
        signedAtMs,
        timetable: timetableOf(content),
      })),
      states: await chart.stateChanges(prescription.id),
      breaks,
      holds: [...holds, ...(notPlayable.get(prescription.id) ?? [])],
    };
    programs.push({ prescription, versions, history });
  }
  return { programs, warnings };
}

/** Shared by several callers, so none of them changes it. */
function once<Result>(read: () => Promise<Result>): () => Promise<Readonly<Result>> {
  let found: Promise<Result> | undefined;
  return () => {
    found ??= read();
    return found;
  };
}

function onceEach<Result>(read: (id: string) => Promise<Result>): (id: string) => Promise<Readonly<Result>> {
  const found = new Map<string, Promise<Result>>();
  return (id) => {
    const known = found.get(id) ?? read(id);
    found.set(id, known);
    return known;
  };
}
