import type { Db } from '../engine/openStore.js';

/**
 * Rule WARN-2: an unanswered warning holds everything. When the oldest one was received, on the service’s clock, or
 * null.
 */
export async function openWarningSince(db: Db, patientId: string): Promise<number | null> {
  const found = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .select('warning.receivedAtMs')
    .where('warning.patientId', '=', patientId)
    .where('warningAnswer.warningId', 'is', null)
    .orderBy('warning.receivedAtMs')
    .limit(1)
    .executeTakeFirst();
  return found?.receivedAtMs ?? null;
}
