import { randomUUID } from 'node:crypto';
import type { Selectable } from 'kysely';
import { scheduleAfterChange } from '../attention/patientChanged.js';
import { isWholeScreening } from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import { screeningChecksum } from '../schema/migrations/signedChecksums.js';
import type { Database } from '../schema/schema.js';

/** One precaution interview; `answers` is JSON text of the screening's answers, null for a damaged one. */
export type Screening = { id: string; answers: string | null; clinicianName: string; atMs: number };

/**
 * Adds an interview to a patient's record, for a patient whom the caller has checked to be of the clinic. Runs in a
 * transaction.
 */
export async function addScreening(
  db: Db,
  screening: { patientId: string; answers: string; stops: boolean; clinicianId: string; nowMs: number },
): Promise<string> {
  const { patientId, answers, stops, clinicianId, nowMs } = screening;
  const id = randomUUID();
  const last = await db
    .selectFrom('screening')
    .select(({ fn }) => fn.max('number').as('number'))
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  const number = Number(last?.number ?? 0) + 1;
  const row = { id, patientId, number, answers, stops: stops ? 1 : 0, clinicianId, atMs: nowMs };
  await db
    .insertInto('screening')
    .values({ ...row, checksum: screeningChecksum(row) })
    .execute();
  await scheduleAfterChange(db, patientId);
  return id;
}

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
