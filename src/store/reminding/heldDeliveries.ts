import { sql } from 'kysely';
import type { Db } from '../engine/openStore.js';
import { unansweredWhy } from './deliveries.js';

/** Extends the lease of deliveries that were handed over, and records that their responses are pending. */
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

/** Releases what a dead process held, if it is known that there is no other. @returns how many */
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
 * Corrects times that a fast clock has set too late: leases, retries and plans that are later than possible.
 *
 * @returns how many deliveries were corrected
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
  // Deliveries that it gave up as too late are checked again at their real time.
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

/** A warning or a note with a report time in the future was reported now, and must not wait for that time. */
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
