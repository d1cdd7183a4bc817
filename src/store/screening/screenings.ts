import { randomUUID } from 'node:crypto';
import { scheduleAfterChange } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import { screeningChecksum } from '../schema/migrations/signedChecksums.js';

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
