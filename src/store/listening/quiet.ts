import type { Db } from '../engine/openStore.js';

/**
 * Since when a patient has started nothing although sessions were due, as found by the planning of reminders; else
 * null.
 */
export async function quietSinceOf(db: Db, patientId: string): Promise<number | null> {
  const watch = await db
    .selectFrom('reminderWatch')
    .select('quietSinceMs')
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  return watch?.quietSinceMs ?? null;
}
