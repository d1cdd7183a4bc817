import type { Db } from '../engine/db.js';

/** Beside the secrets, which are kept by name too; this is none. */
const name = 'at-work';

/** Without a word for so long no one is at work any longer: reminders are good for an hour. */
const atWorkMs = 16 * 60_000;

/** Whether a word at one moment tells that someone is at work at another: either clock may have been set. */
export const isAtWork = (saidAtMs: number, nowMs: number) => Math.abs(nowMs - saidAtMs) < atWorkMs;

/** Notes that a service works on the database: one of an earlier version, which may write nothing, reads it. */
export async function markAtWork(db: Db, nowMs: number): Promise<void> {
  await db
    .insertInto('serviceSecret')
    .values({ name, value: '', createdAtMs: nowMs })
    .onConflict((conflict) => conflict.column('name').doUpdateSet({ createdAtMs: nowMs }))
    .execute();
}

/** When a service last noted that it is at work; null where none ever has. */
export async function readAtWork(db: Db): Promise<number | null> {
  const noted = await db
    .selectFrom('serviceSecret')
    .select('createdAtMs')
    .where('name', '=', name)
    .executeTakeFirst();
  return noted?.createdAtMs ?? null;
}
