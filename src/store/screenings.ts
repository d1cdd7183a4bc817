import { randomUUID } from 'node:crypto';
import type { Db } from './openStore.js';
import { patientChanged } from './patientChanged.js';

/** One precaution interview; `answers` is JSON text of the screening room. */
export type Screening = { id: string; answers: string; clinicianName: string; atMs: number };

/**
 * Adds an interview to a patient's record, for a patient whom the caller has checked to be of the clinic. Run it in
 * a transaction.
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
  await db
    .insertInto('screening')
    .values({ id, patientId, number, answers, stops: stops ? 1 : 0, clinicianId, atMs: nowMs })
    .execute();
  await patientChanged(db, patientId);
  return id;
}

/** A patient's interviews, the newest first. */
export function screeningsOf(db: Db, patientId: string): Promise<Screening[]> {
  return screenings(db, patientId).execute();
}

/** The interview that rules, or null for a patient who was never screened. */
export async function newestScreening(db: Db, patientId: string): Promise<Screening | null> {
  return (await screenings(db, patientId).limit(1).executeTakeFirst()) ?? null;
}

function screenings(db: Db, patientId: string) {
  return db
    .selectFrom('screening')
    .innerJoin('clinician', 'clinician.id', 'screening.clinicianId')
    .select([
      'screening.id as id',
      'screening.answers as answers',
      'screening.atMs as atMs',
      'clinician.name as clinicianName',
    ])
    .where('patientId', '=', patientId)
    .orderBy('number', 'desc');
}
