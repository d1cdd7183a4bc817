import type { Db } from '../engine/openStore.js';

/** Since when someone has begun nothing although sessions were due, as the planning of reminders found; else null. */
export async function quietSinceOf(db: Db, patientId: string): Promise<number | null> {
  const watch = await db
    .selectFrom('reminderWatch')
    .select('quietSinceMs')
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  return watch?.quietSinceMs ?? null;
}
