import type { Db } from '../engine/db.js';

/** Stored with the secrets, which also have names; it is not one. */
const name = 'at-work';

/** After this long without a sign, no service is considered running: reminders are good for an hour. */
const atWorkMs = 16 * 60_000;

/** Whether a sign at one time shows that a service is running at another: either clock may have been set. */
export const isAtWork = (saidAtMs: number, nowMs: number) => Math.abs(nowMs - saidAtMs) < atWorkMs;

/** Records that a service works on the database: a service of an earlier version, which may not write, reads it. */
export async function markAtWork(db: Db, nowMs: number): Promise<void> {
  await db
    .insertInto('serviceSecret')
    .values({ name, value: '', createdAtMs: nowMs })
    .onConflict((conflict) => conflict.column('name').doUpdateSet({ createdAtMs: nowMs }))
    .execute();
}

/** When a service last recorded that it is running; null if none ever has. */
export async function readAtWork(db: Db): Promise<number | null> {
  const noted = await db
    .selectFrom('serviceSecret')
    .select('createdAtMs')
    .where('name', '=', name)
    .executeTakeFirst();
  return noted?.createdAtMs ?? null;
}
