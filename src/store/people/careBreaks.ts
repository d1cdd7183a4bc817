import { randomUUID } from 'node:crypto';
import { schedulePlanning } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import type { CareBreak } from './chart.js';

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
  await schedulePlanning(db, patientId);
  return id;
}

/**
 * Changes the last day of a break, or removes it. Its previous form stays on record, so that a calendar can tell what
 * has changed; with another last day it is a new row.
 *
 * @param untilDay its last day; null removes it
 * @returns false if there is none
 */
export async function endBreak(
  db: Db,
  patientId: string,
  ended: { id: string; untilDay: string | null; nowMs: number },
): Promise<boolean> {
  const { id, untilDay, nowMs } = ended;
  const before = await db
    .updateTable('careBreak')
    .set({ removedAtMs: nowMs })
    .where('id', '=', id)
    .where('patientId', '=', patientId)
    .where('removedAtMs', 'is', null)
    .returning(['kind', 'fromDay', 'note', 'clinicianId'])
    .executeTakeFirst();
  if (before === undefined) return false;
  if (untilDay !== null) await addBreak(db, patientId, { ...before, untilDay, nowMs });
  await schedulePlanning(db, patientId);
  return true;
}
