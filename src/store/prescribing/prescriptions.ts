import { randomUUID } from 'node:crypto';
import { clearUnplayable } from '../attention/notPlayed.js';
import { scheduleAfterChange } from '../attention/patientChanged.js';
import {
  isWholeProgram,
  type ProgramFacts,
  programColumns,
  programsWithNewest,
  readProgramState,
  type SignedContent,
  sealProgram,
  verifySignedContent,
  versionColumns,
} from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';

export type Prescription = {
  id: string;
  patientId: string;
  title: string;
  /** As {@link readProgramState} has it. */
  state: PrescriptionState;
  newestVersion: number;
};

/** The columns a version is read from. */
export type VersionContent = SignedContent & { number: number };

/** One signed version; `content` is JSON text of a prescription's content, null for a damaged version. */
export type SignedVersion = SignedContent & {
  number: number;
  reason: string;
  signedBy: string;
  signedByName: string;
  signedAtMs: number;
};

/** The prescription created from a draft, or null. */
export async function findPrescriptionOfWork(
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

/** What a program's checksum covers, as it is written. */
export const rowColumns = ['id', 'patientId', 'title', 'state', 'newestVersion', 'createdAtMs'] as const;

export function programById(db: Db, id: string): Promise<ProgramFacts | undefined> {
  return db.selectFrom('prescription').select(programColumns).where('id', '=', id).executeTakeFirst();
}

function prescriptionOf(row: ProgramFacts): Prescription {
  const { id, patientId, title, newestVersion } = row;
  return { id, patientId, title, state: readProgramState(row), newestVersion };
}

/** Null for an unknown id, and for a prescription of another clinic. */
export async function prescriptionById(db: Db, clinicId: string, id: string): Promise<Prescription | null> {
  const found = await db
    .selectFrom('prescription')
    .innerJoin('patient', 'patient.id', 'prescription.patientId')
    .select(programColumns)
    .where('prescription.id', '=', id)
    .where('patient.clinicId', '=', clinicId)
    .executeTakeFirst();
  return found === undefined ? null : prescriptionOf(found);
}

/** Newest prescription first, each with the signature of its newest version. */
export async function prescriptionsOf(
  db: Db,
  clinicId: string,
  patientId: string,
): Promise<(Prescription & Pick<SignedVersion, 'signedAtMs' | 'signedByName'>)[]> {
  const rows = await programsWithNewest(db)
    .innerJoin('patient', 'patient.id', 'prescription.patientId')
    .leftJoin('clinician', 'clinician.id', 'version.signedBy')
    .select('clinician.name as signedByName')
    .where('prescription.patientId', '=', patientId)
    .where('patient.clinicId', '=', clinicId)
    .orderBy('prescription.createdAtMs', 'desc')
    .orderBy('prescription.id')
    .execute();
  return rows.map((row) => ({
    ...prescriptionOf(row),
    signedAtMs: row.signedAtMs ?? row.createdAtMs,
    signedByName: row.signedByName ?? '',
  }));
}

/** An active program, with the content of its newest version. */
export type ActiveProgram = SignedContent & {
  id: string;
  signedAtMs: number;
  /** When it was last paused or resumed; null for never. */
  changedAtMs: number | null;
};

/** A patient's active programs. */
export async function activeProgramsOf(db: Db, patientId: string): Promise<ActiveProgram[]> {
  const rows = await programsWithNewest(db)
    .select(({ selectFrom }) =>
      selectFrom('prescriptionState')
        .select(({ fn }) => fn.max('prescriptionState.atMs').as('atMs'))
        .whereRef('prescriptionState.prescriptionId', '=', 'prescription.id')
        .as('changedAtMs'),
    )
    .where('prescription.patientId', '=', patientId)
    .orderBy('prescription.id')
    .execute();
  return rows
    .filter((row) => readProgramState(row) === 'active')
    .map((row) => ({
      id: row.id,
      signedAtMs: row.signedAtMs ?? row.createdAtMs,
      changedAtMs: row.changedAtMs,
      ...verifySignedContent(row, row),
    }));
}

/** All versions, newest first. If the newest one is missing, all are damaged: none may be taken for it. */
export async function versionsOf(db: Db, prescriptionId: string): Promise<SignedVersion[]> {
  const rows = await db
    .selectFrom('prescription')
    .innerJoin('prescriptionVersion as version', 'version.prescriptionId', 'prescription.id')
    .leftJoin('clinician', 'clinician.id', 'version.signedBy')
    .select(programColumns)
    .select(versionColumns)
    .select('clinician.name as signedByName')
    .where('prescription.id', '=', prescriptionId)
    .orderBy('version.number', 'desc')
    .execute();
  const isGone = rows[0]?.number !== rows[0]?.newestVersion;
  return rows.map((row) => ({
    number: row.number,
    reason: row.reason,
    signedBy: row.signedBy,
    signedByName: row.signedByName ?? '',
    signedAtMs: row.signedAtMs,
    ...verifySignedContent(row, isGone ? { ...row, number: null } : row),
  }));
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
 * Pauses, resumes or ends; an ended program stays ended, and a damaged one is not resumed. Runs in a transaction.
 *
 * @returns false if the step is not possible from the current state
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
  const before = await programById(db, change.prescriptionId);
  if (before === undefined) return false;
  const isWhole = isWholeProgram(before);
  if (!isWhole && change.state === 'active') return false;
  let changing = db
    .updateTable('prescription')
    .set({ state: change.state })
    .where('id', '=', change.prescriptionId);
  // A damaged program does not reveal its status.
  if (isWhole) changing = changing.where('state', 'not in', ['ended', change.state]);
  const changed = await changing.returning(rowColumns).executeTakeFirst();
  if (changed === undefined) return false;
  // Damage stays recorded until nothing can be played any longer.
  if (isWhole || change.state === 'ended') await sealProgram(db, changed);
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
  await clearUnplayable(db, change.prescriptionId, change.nowMs);
  await scheduleAfterChange(db, changed.patientId);
  return true;
}
