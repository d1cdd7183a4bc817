import type { Selectable } from 'kysely';
import { z } from 'zod';
import {
  isWholeScreening,
  type ProgramFacts,
  programColumns,
  programsWithNewest,
  readProgramState,
  type SignedContent,
  verifySignedContent,
  versionColumns,
} from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';
import type { BreakKind } from '../schema/reminderSchema.js';
import type { Database } from '../schema/schema.js';
import type { PatientDetails } from './patients.js';

const goalsSchema = z.array(z.string());

export type Patient = PatientDetails & { id: string; revision: number };

/** Null for an unknown id, and for a patient of another clinic. */
export async function patientById(db: Db, clinicId: string, id: string): Promise<Patient | null> {
  const row = await db
    .selectFrom('patient')
    .selectAll()
    .where('id', '=', id)
    .where('clinicId', '=', clinicId)
    .executeTakeFirst();
  if (row === undefined) return null;
  const { clinicId: _clinicId, searchName: _searchName, createdAtMs: _createdAtMs, goals, ...rest } = row;
  return { ...rest, goals: goalsSchema.parse(JSON.parse(goals)) };
}

/** Days on which nothing is due for a patient, both inclusive; open-ended until someone ends it. */
export type CareBreak = {
  id: string;
  kind: BreakKind;
  fromDay: string;
  untilDay: string | null;
  note: string;
  createdAtMs: number;
};

/** The current breaks of a patient, by first day. */
export async function breaksOf(db: Db, patientId: string): Promise<CareBreak[]> {
  return db
    .selectFrom('careBreak')
    .select(['id', 'kind', 'fromDay', 'untilDay', 'note', 'createdAtMs'])
    .where('patientId', '=', patientId)
    .where('removedAtMs', 'is', null)
    .orderBy('fromDay')
    .orderBy('id')
    .execute();
}

/**
 * Every form that the breaks of a patient ever had: a changed or removed one is included with the time until which it
 * applied.
 */
export async function breakHistoryOf(
  db: Db,
  patientId: string,
): Promise<(Pick<CareBreak, 'fromDay' | 'untilDay' | 'createdAtMs'> & { removedAtMs: number | null })[]> {
  return db
    .selectFrom('careBreak')
    .select(['fromDay', 'untilDay', 'createdAtMs', 'removedAtMs'])
    .where('patientId', '=', patientId)
    .orderBy('createdAtMs')
    .orderBy('id')
    .execute();
}

/** One precaution interview; `answers` is JSON text of the screening's answers, null for a damaged one. */
export type Screening = { id: string; answers: string | null; clinicianName: string; atMs: number };

/** A patient's interviews, newest first. */
export async function screeningsOf(db: Db, patientId: string): Promise<Screening[]> {
  return (await screenings(db, patientId).execute()).map(screeningOf);
}

/** The current interview, or null for a patient who was never screened. */
export async function newestScreening(db: Db, patientId: string): Promise<Screening | null> {
  const newest = await screenings(db, patientId).limit(1).executeTakeFirst();
  return newest === undefined ? null : screeningOf(newest);
}

function screenings(db: Db, patientId: string) {
  return db
    .selectFrom('screening')
    .leftJoin('clinician', 'clinician.id', 'screening.clinicianId')
    .selectAll('screening')
    .select('clinician.name as clinicianName')
    .where('patientId', '=', patientId)
    .orderBy('number', 'desc');
}

function screeningOf(row: Selectable<Database['screening']> & { clinicianName: string | null }): Screening {
  const { id, answers, clinicianName, atMs } = row;
  return { id, answers: isWholeScreening(row) ? answers : null, clinicianName: clinicianName ?? '', atMs };
}

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

/** From one time to another, or open-ended; `untilMs` is exclusive. */
export type NotPlayable = { fromMs: number; untilMs: number | null };

/** All periods in which a patient's programs could not be played, by program id, in order. */
export async function listUnplayablePeriods(db: Db, patientId: string): Promise<Map<string, NotPlayable[]>> {
  const rows = await db
    .selectFrom('notPlayable')
    .select(['prescriptionId', 'fromMs', 'untilMs'])
    .where('patientId', '=', patientId)
    .orderBy('fromMs')
    .execute();
  const stretches = new Map<string, NotPlayable[]>();
  for (const { prescriptionId, fromMs, untilMs } of rows)
    stretches.set(prescriptionId, [...(stretches.get(prescriptionId) ?? []), { fromMs, untilMs }]);
  return stretches;
}
