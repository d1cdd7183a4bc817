import { sql } from 'kysely';
import type { Db } from '../engine/openStore.js';
import { unansweredWhy } from './deliveries.js';

/** Goes on holding deliveries that were handed over, and notes that their answers are waited for. */
export async function extendLeases(
  db: Db,
  { owner, ids, leaseUntilMs }: { owner: string; ids: readonly string[]; leaseUntilMs: number },
): Promise<void> {
  if (ids.length === 0) return;
  await db
    .updateTable('delivery')
    .set({ leaseUntilMs, nextAtMs: leaseUntilMs, why: unansweredWhy })
    .where('id', 'in', ids)
    .where('leaseOwner', '=', owner)
    .where('state', '=', 'sending')
    .execute();
}

/** Frees what a process held that is gone, where it is known that there is no other. @returns how many */
export async function releaseLeases(db: Db, nowMs: number): Promise<number> {
  const freed = await db
    .updateTable('delivery')
    .set({ leaseOwner: null, leaseUntilMs: null, nextAtMs: nowMs })
    .where(sql<boolean>`"state" in ('waiting', 'sending')`)
    .where('state', '=', 'sending')
    .executeTakeFirst();
  return Number(freed.numUpdatedRows);
}

/**
 * Brings back what a clock that was ahead has moved too far: leases, further attempts and plans that lie later than
 * any can.
 *
 * @returns how many deliveries were brought back
 */
export async function rescheduleAfterClockChange(
  db: Db,
  { nowMs, longestWaitMs, longestPlanMs }: { nowMs: number; longestWaitMs: number; longestPlanMs: number },
): Promise<number> {
  const deliveries = await db
    .updateTable('delivery')
    .set({ nextAtMs: nowMs })
    .where(sql<boolean>`"state" in ('waiting', 'sending')`)
    .where('forAtMs', '<=', nowMs)
    .where('nextAtMs', '>', nowMs + longestWaitMs)
    .where('attempts', '>', 0)
    .executeTakeFirst();
  // What it gave up as too late is looked at again at its real time.
  await db
    .updateTable('delivery')
    .set({ state: 'waiting', why: null, attempts: 0, settledAtMs: null, nextAtMs: nowMs })
    .where('state', 'in', ['missed', 'dropped', 'failed'])
    .where('settledAtMs', '>', nowMs)
    // What may have arrived is not sent again.
    .where(({ eb, or }) => or([eb('why', 'is', null), eb('why', '<>', unansweredWhy)]))
    .execute();
  await bringBackTold(db, nowMs);
  await db
    .updateTable('reminderWatch')
    .set({ planAtMs: 0, plannedUntilMs: nowMs, madeForMs: null })
    .where('planAtMs', '>', nowMs + longestPlanMs)
    .execute();
  return Number(deliveries.numUpdatedRows);
}

/** A warning or a note that was told of at a time that is not yet was told of now: it must not wait for that time. */
async function bringBackTold(db: Db, nowMs: number): Promise<void> {
  await db
    .updateTable('delivery')
    .set(({ eb, ref, val }) => {
      const sooner = (column: 'forAtMs' | 'nextAtMs' | 'goodUntilMs') =>
        eb(eb(ref(column), '-', ref('slotDueAtMs')), '+', val(nowMs)).$castTo<number>();
      return {
        forAtMs: sooner('forAtMs'),
        nextAtMs: sooner('nextAtMs'),
        goodUntilMs: sooner('goodUntilMs'),
        slotDueAtMs: nowMs,
      };
    })
    .where('kind', 'in', ['warning', 'note'])
    .where(sql<boolean>`"state" in ('waiting', 'sending')`)
    .where('state', '=', 'waiting')
    .where('slotDueAtMs', '>', nowMs)
    .execute();
}
