import { hasOpened } from '../../store/accounts/audit.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import type { Db } from '../../store/engine/openStore.js';
import { type Patient, patientById } from '../../store/people/patients.js';
import { type Prescription, prescriptionById } from '../../store/prescribing/prescriptions.js';
import { type Actor, auditActor } from '../actor.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { type Chart, openChart } from './chart.js';

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
export async function findOwnPatient(db: Db, { clinician }: Actor, id: string): Promise<Patient> {
  const patient = await patientById(db, clinician.clinicId, id);
  if (patient === null) throw refused('no-such-person');
  return patient;
}

/**
 * The record of a patient of the actor's clinic, locked until the transaction ends.
 *
 * @throws Refused if the clinic has no such patient
 */
export async function lockOwnChart(db: Db, actor: Actor, id: string): Promise<Chart> {
  // Locked before reading: what is read stays true until the transaction ends.
  await lockPatient(db, id, actor.clinician.clinicId);
  const patient = await findOwnPatient(db, actor, id);
  return openChart({ read: (work) => work(db) }, actor.clinician.clinicId, patient);
}

async function ownPrescription(db: Db, actor: Actor, id: string): Promise<OwnPrescription> {
  const prescription = await prescriptionById(db, actor.clinician.clinicId, id);
  if (prescription === null) throw refused('no-such-program');
  return { prescription, patient: await findOwnPatient(db, actor, prescription.patientId) };
}
