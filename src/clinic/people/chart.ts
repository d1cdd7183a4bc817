import { readScreening } from '../../screening/takenScreening.js';
import { auditActor, hasOpened } from '../../store/accounts/audit.js';
import { findUnplayable, lockPatient, openWarningSince } from '../../store/attention/patientChanged.js';
import type { Db, Store } from '../../store/engine/openStore.js';
import {
  adviceAnswersOf,
  listenedOf,
  reportedOf,
  unreadNotesOf,
  warningsOf,
} from '../../store/followup/history.js';
import { caregiversOf, consentsOf } from '../../store/people/caregivers.js';
import {
  breakHistoryOf,
  breaksOf,
  listUnplayablePeriods,
  newestScreening,
  type Patient,
  type Prescription,
  patientById,
  prescriptionById,
  prescriptionsOf,
  stateChangesOf,
  versionsOf,
} from '../../store/people/chart.js';
import type { Actor } from '../actor.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';

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
 * Locks a patient until the transaction ends, and opens the record again, because earlier data may have changed in the
 * meantime.
 *
 * @throws Refused if the patient has been erased in the meantime
 */
export function lockChart(db: Db, { clinicId, patient: { id } }: Chart): Promise<Chart> {
  return lockRecord(db, clinicId, id);
}

/**
 * The record of a patient of the actor's clinic, locked until the transaction ends.
 *
 * @throws Refused if the clinic has no such patient
 */
export function lockOwnChart(db: Db, { clinician }: Actor, id: string): Promise<Chart> {
  return lockRecord(db, clinician.clinicId, id);
}

async function lockRecord(db: Db, clinicId: string, id: string): Promise<Chart> {
  // Locked before reading, so that the data stays true until the transaction ends.
  await lockPatient(db, id, clinicId);
  return openChart({ read: (work) => work(db) }, clinicId, await findPatient(db, clinicId, id));
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

/** A prescription with its patient. */
export type OwnPrescription = { prescription: Prescription; patient: Patient };

/**
 * A patient of the actor's clinic; viewing the record is logged first.
 *
 * @throws Refused if there is none; it does not reveal whether another clinic has one
 */
export function readPatient({ store }: Pick<Resources, 'store'>, actor: Actor, id: string): Promise<Patient> {
  return store.write(async (db) => {
    const patient = await findOwnPatient(db, actor, id);
    await auditActor(db, actor, { patientId: id, subject: id, action: 'patient-read' });
    return patient;
  });
}

/**
 * The same during work on a page opened at most half a day ago, for which the view is already in the activity log;
 * otherwise it is logged now.
 */
export async function readPatientDuringWork(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  id: string,
): Promise<Patient> {
  const patient = await service.store.read((db) => findOwnPatient(db, actor, id));
  return (await isOpen(service, actor, id)) ? patient : readPatient(service, actor, id);
}

/** The record of a patient of the actor's clinic; viewing it is logged first. Errors as for {@link readPatient}. */
export async function readChart(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  id: string,
): Promise<Chart> {
  return openChart(store, actor.clinician.clinicId, await readPatient({ store }, actor, id));
}

/** The same during work on a page, as for {@link readPatientDuringWork}. */
export async function readChartDuringWork(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  id: string,
): Promise<Chart> {
  return openChart(store, actor.clinician.clinicId, await readPatientDuringWork({ store }, actor, id));
}

/**
 * A prescription of the actor's clinic with its patient; viewing it is logged first.
 *
 * @throws Refused if there is none
 */
export function readPrescriptionOf(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  id: string,
): Promise<OwnPrescription> {
  return store.write(async (db) => {
    const found = await ownPrescription(db, actor, id);
    await auditActor(db, actor, { patientId: found.patient.id, subject: id, action: 'prescription-read' });
    return found;
  });
}

/** The same during work on a page, as for {@link readPatientDuringWork}. */
export async function readPrescriptionDuringWork(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  id: string,
): Promise<OwnPrescription> {
  const found = await service.store.read((db) => ownPrescription(db, actor, id));
  return (await isOpen(service, actor, found.patient.id)) ? found : readPrescriptionOf(service, actor, id);
}

const openForMs = 12 * 60 * 60_000;

function isOpen(
  { store }: Pick<Resources, 'store'>,
  { clinician, nowMs }: Actor,
  patientId: string,
): Promise<boolean> {
  const reader = { clinicianId: clinician.id, patientId, sinceMs: nowMs - openForMs };
  return store.read((db) => hasOpened(db, reader));
}

/** Rule PERM-3: no clinic can find another clinic's data. @throws Refused if the clinic has no such patient */
export function findOwnPatient(db: Db, { clinician }: Actor, id: string): Promise<Patient> {
  return findPatient(db, clinician.clinicId, id);
}

async function findPatient(db: Db, clinicId: string, id: string): Promise<Patient> {
  const patient = await patientById(db, clinicId, id);
  if (patient === null) throw refused('no-such-person');
  return patient;
}

async function ownPrescription(db: Db, actor: Actor, id: string): Promise<OwnPrescription> {
  const prescription = await prescriptionById(db, actor.clinician.clinicId, id);
  if (prescription === null) throw refused('no-such-program');
  return { prescription, patient: await findOwnPatient(db, actor, prescription.patientId) };
}

/** Whether a hospital stay was recorded since an interview, today's or an earlier one. */
export async function hasBeenInHospital(
  chart: Pick<Chart, 'breaks'>,
  { screenedAtMs, today }: { screenedAtMs: number; today: string },
): Promise<boolean> {
  return (await chart.breaks()).some(
    ({ kind, fromDay, createdAtMs }) => kind === 'hospital' && fromDay <= today && createdAtMs > screenedAtMs,
  );
}

/**
 * Rule SCREEN-9: findings, procedures or prescriptions in a hospital can change everything, so nothing is signed or
 * resumed on the basis of an earlier interview.
 *
 * @param screenedAtMs of the interview
 * @param path the field to report the problem at
 * @throws Refused if there was a hospital stay since then
 */
export async function requireScreenedSince(
  chart: Pick<Chart, 'breaks'>,
  { screenedAtMs, today, path }: { screenedAtMs: number; today: string; path: string },
): Promise<void> {
  if (!(await hasBeenInHospital(chart, { screenedAtMs, today }))) return;
  throw refused('hospital-since-screening', { field: path });
}
