import { randomUUID } from 'node:crypto';
import { newestPrograms } from './newestPrograms.js';
import { endNotPlayed } from './notPlayed.js';
import type { Db } from './openStore.js';
import { patientChanged } from './patientChanged.js';
import type { PrescriptionState } from './schema.js';

export type Prescription = {
  id: string;
  patientId: string;
  title: string;
  state: PrescriptionState;
  newestVersion: number;
};

/** One signed version; `content` is JSON text of the prescription room. */
export type SignedVersion = {
  number: number;
  content: string;
  reason: string;
  signedBy: string;
  signedByName: string;
  signedAtMs: number;
};

export type Signing = {
  title: string;
  content: string;
  /** The interview that it stands on. */
  screeningId: string | null;
  reason: string;
  signedBy: string;
  nowMs: number;
};

/**
 * Makes a prescription with its first version, for a patient whom the caller has checked to be of the clinic. Run it
 * in a transaction that has locked the patient.
 *
 * @param workId names the work that it comes of; each makes one prescription
 */
export async function createPrescription(
  db: Db,
  patientId: string,
  signing: Signing,
  workId: string | null = null,
): Promise<string> {
  const id = randomUUID();
  await db
    .insertInto('prescription')
    .values({
      id,
      patientId,
      title: signing.title,
      state: 'active',
      newestVersion: 1,
      workId,
      createdAtMs: signing.nowMs,
    })
    .execute();
  await insertVersion(db, id, 1, signing);
  await patientChanged(db, patientId);
  return id;
}

/** The prescription that came of a piece of work, or null. */
export async function prescriptionOfWork(
  db: Db,
  workId: string | null,
  patientId: string,
): Promise<string | null> {
  if (workId === null) return null;
  const found = await db
    .selectFrom('prescription')
    .select('id')
    .where('workId', '=', workId)
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  return found?.id ?? null;
}

/**
 * Signs the next version on top of the one that the work began with. Run it in a transaction.
 *
 * @returns the new number, or null when a newer version was signed meanwhile; nothing is kept then
 */
export async function signVersion(
  db: Db,
  prescriptionId: string,
  basedOnNumber: number,
  signing: Signing,
): Promise<number | null> {
  const number = basedOnNumber + 1;
  const signed = await db
    .updateTable('prescription')
    .set({ newestVersion: number, title: signing.title })
    .where('id', '=', prescriptionId)
    .where('newestVersion', '=', basedOnNumber)
    .where('state', '!=', 'ended')
    .returning('patientId')
    .executeTakeFirst();
  if (signed === undefined) return null;
  await insertVersion(db, prescriptionId, number, signing);
  await endNotPlayed(db, prescriptionId, signing.nowMs);
  await patientChanged(db, signed.patientId);
  return number;
}

async function insertVersion(db: Db, prescriptionId: string, number: number, signing: Signing) {
  const { content, screeningId, reason, signedBy, nowMs } = signing;
  await db
    .insertInto('prescriptionVersion')
    .values({ prescriptionId, number, content, screeningId, reason, signedBy, signedAtMs: nowMs })
    .execute();
}

const prescriptionColumns = [
  'prescription.id as id',
  'prescription.patientId as patientId',
  'prescription.title as title',
  'prescription.state as state',
  'prescription.newestVersion as newestVersion',
] as const;

/** Null for an unknown id, and for a prescription of another clinic. */
export async function prescriptionById(db: Db, clinicId: string, id: string): Promise<Prescription | null> {
  const found = await db
    .selectFrom('prescription')
    .innerJoin('patient', 'patient.id', 'prescription.patientId')
    .select(prescriptionColumns)
    .where('prescription.id', '=', id)
    .where('patient.clinicId', '=', clinicId)
    .executeTakeFirst();
  return found ?? null;
}

/** Newest prescription first, each with the signature of its newest version. */
export async function prescriptionsOf(
  db: Db,
  clinicId: string,
  patientId: string,
): Promise<(Prescription & Pick<SignedVersion, 'signedAtMs' | 'signedByName'>)[]> {
  return db
    .selectFrom('prescription')
    .innerJoin('patient', 'patient.id', 'prescription.patientId')
    .innerJoin('prescriptionVersion', (join) =>
      join
        .onRef('prescriptionVersion.prescriptionId', '=', 'prescription.id')
        .onRef('prescriptionVersion.number', '=', 'prescription.newestVersion'),
    )
    .innerJoin('clinician', 'clinician.id', 'prescriptionVersion.signedBy')
    .select([
      ...prescriptionColumns,
      'prescriptionVersion.signedAtMs as signedAtMs',
      'clinician.name as signedByName',
    ])
    .where('prescription.patientId', '=', patientId)
    .where('patient.clinicId', '=', clinicId)
    .orderBy('prescription.createdAtMs', 'desc')
    .orderBy('prescription.id')
    .execute();
}

/** A program that is to be done; `content` is JSON text of its newest version. */
export type ActiveProgram = {
  id: string;
  content: string;
  signedAtMs: number;
  /** When it was last paused or resumed; null for never. */
  changedAtMs: number | null;
};

/** The programs of a patient that are to be done now. */
export async function activeProgramsOf(db: Db, patientId: string): Promise<ActiveProgram[]> {
  return newestPrograms(db, patientId)
    .select('prescriptionVersion.content')
    .where('prescription.state', '=', 'active')
    .orderBy('prescription.id')
    .execute();
}

/** All versions, newest first. */
export async function versionsOf(db: Db, prescriptionId: string): Promise<SignedVersion[]> {
  return db
    .selectFrom('prescriptionVersion')
    .innerJoin('clinician', 'clinician.id', 'prescriptionVersion.signedBy')
    .select([
      'prescriptionVersion.number as number',
      'prescriptionVersion.content as content',
      'prescriptionVersion.reason as reason',
      'prescriptionVersion.signedBy as signedBy',
      'clinician.name as signedByName',
      'prescriptionVersion.signedAtMs as signedAtMs',
    ])
    .where('prescriptionVersion.prescriptionId', '=', prescriptionId)
    .orderBy('number', 'desc')
    .execute();
}

/** When a prescription was paused, resumed or ended, newest first. */
export async function stateChangesOf(
  db: Db,
  prescriptionId: string,
): Promise<{ state: PrescriptionState; reason: string; atMs: number; clinicianName: string }[]> {
  return db
    .selectFrom('prescriptionState')
    .innerJoin('clinician', 'clinician.id', 'prescriptionState.clinicianId')
    .select([
      'prescriptionState.state as state',
      'prescriptionState.reason as reason',
      'prescriptionState.atMs as atMs',
      'clinician.name as clinicianName',
    ])
    .where('prescriptionState.prescriptionId', '=', prescriptionId)
    .orderBy('prescriptionState.atMs', 'desc')
    .execute();
}

/**
 * Pauses, resumes or ends; what has ended stays ended. Run it in a transaction.
 *
 * @returns false when the step is not possible from the present state
 */
export async function changeState(
  db: Db,
  change: {
    prescriptionId: string;
    state: PrescriptionState;
    clinicianId: string;
    reason: string;
    nowMs: number;
  },
): Promise<boolean> {
  const changed = await db
    .updateTable('prescription')
    .set({ state: change.state })
    .where('id', '=', change.prescriptionId)
    .where('state', 'not in', ['ended', change.state])
    .returning('patientId')
    .executeTakeFirst();
  if (changed === undefined) return false;
  await db
    .insertInto('prescriptionState')
    .values({
      id: randomUUID(),
      prescriptionId: change.prescriptionId,
      state: change.state,
      clinicianId: change.clinicianId,
      reason: change.reason,
      atMs: change.nowMs,
    })
    .execute();
  await endNotPlayed(db, change.prescriptionId, change.nowMs);
  await patientChanged(db, changed.patientId);
  return true;
}
