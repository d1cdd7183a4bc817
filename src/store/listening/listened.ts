import { type Listened, sumUp } from '../../listening/listened.js';
import type { Db } from '../engine/openStore.js';

/**
 * Recomputes the summaries of some of a patient's playbacks from all of their steps. Anything that stores steps calls
 * it in the same transaction, which has locked the patient: otherwise two devices could each miss what the other
 * reports.
 */
export async function recomputeListenings(
  db: Db,
  patientId: string,
  listeningIds: readonly string[],
): Promise<void> {
  if (listeningIds.length === 0) return;
  const steps = await db
    .selectFrom('listeningStep')
    .select(['listeningId', 'prescriptionId', 'versionNumber', 'sessionNumber', 'slot', 'caregiverId'])
    .select(['step', 'positionMs', 'atMs', 'choice'])
    .where('listeningId', 'in', listeningIds)
    .where('patientId', '=', patientId)
    .execute();
  for (const listened of sumUp(steps)) {
    await db
      .insertInto('listened')
      .values({ ...listened, patientId })
      .onConflict((conflict) => conflict.columns(['patientId', 'listeningId']).doUpdateSet(listened))
      .execute();
  }
}

/** All playbacks of a patient since a given time, in the order they started. */
export async function listenedOf(db: Db, patientId: string, sinceMs = 0): Promise<Listened[]> {
  const rows = await db
    .selectFrom('listened')
    .selectAll()
    .where('patientId', '=', patientId)
    .where('startedAtMs', '>=', sinceMs)
    .orderBy('startedAtMs')
    .orderBy('listeningId')
    .execute();
  return rows.map(({ patientId: _patientId, ...listened }) => listened);
}
