import { randomUUID } from 'node:crypto';
import type { Db } from './openStore.js';
import type { BreakKind } from './reminderSchema.js';
import { planSoon } from './reminderWatch.js';

/** Days on which nothing is due for a patient, both inclusive; without a last one until somebody ends it. */
export type CareBreak = {
  id: string;
  kind: BreakKind;
  fromDay: string;
  untilDay: string | null;
  note: string;
  createdAtMs: number;
};

/** The breaks of a patient that stand, by their first day. */
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

/** For a patient whom the caller has checked to be of the clinic. */
export async function addBreak(
  db: Db,
  patientId: string,
  added: Omit<CareBreak, 'id' | 'createdAtMs'> & { clinicianId: string; nowMs: number },
): Promise<string> {
  const id = randomUUID();
  const { nowMs, ...rest } = added;
  await db
    .insertInto('careBreak')
    .values({ id, patientId, ...rest, createdAtMs: nowMs, removedAtMs: null })
    .execute();
  await planSoon(db, patientId);
  return id;
}

/**
 * Ends a break with a day as its last one, or takes it back as a whole.
 *
 * @param untilDay the last day of it; null takes it back
 * @returns false when there is none
 */
export async function endBreak(
  db: Db,
  patientId: string,
  ended: { id: string; untilDay: string | null; nowMs: number },
): Promise<boolean> {
  const { id, untilDay, nowMs } = ended;
  const result = await db
    .updateTable('careBreak')
    .set(untilDay === null ? { removedAtMs: nowMs } : { untilDay })
    .where('id', '=', id)
    .where('patientId', '=', patientId)
    .where('removedAtMs', 'is', null)
    .executeTakeFirst();
  if (result.numUpdatedRows !== 1n) return false;
  await planSoon(db, patientId);
  return true;
}
