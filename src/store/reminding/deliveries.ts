import { randomUUID } from 'node:crypto';
import { type Selectable, sql } from 'kysely';
import { refreshAttention } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import type { DeliveryState, ReminderTables } from '../schema/reminderSchema.js';

/** One planned message to one contact. */
export type NewDelivery = Pick<
  Selectable<ReminderTables['delivery']>,
  | 'key'
  | 'clinicId'
  | 'patientId'
  | 'kind'
  | 'prescriptionId'
  | 'slot'
  | 'slotDueAtMs'
  | 'subject'
  | 'contactId'
  | 'caregiverId'
  | 'forAtMs'
  | 'nextAtMs'
  | 'goodUntilMs'
>;

/** A delivery that one process holds until its lease expires. */
export type Claimed = NewDelivery & {
  id: string;
  attempts: number;
  /** The result of the previous attempt; {@link unansweredWhy} if it was interrupted while waiting for its response. */
  why: string | null;
};

/** Why a delivery is still held: it was handed over, and its response is pending. Or why that was given up. */
export const unansweredWhy = 'answer-unknown';

/** The result of one attempt, final or for now. */
export type Settled = {
  id: string;
  patientId: string | null;
  state: Exclude<DeliveryState, 'sending'>;
  why: string | null;
  isLate: boolean;
  /** When a waiting one is retried. */
  nextAtMs: number | null;
  /** For a waiting one: it was merely not due yet, which does not count as an attempt. */
  isUntried: boolean;
};

const insertedAtOnce = 100;

/** Stores new deliveries; those with a known key stay as they are. */
export async function insertDeliveries(db: Db, planned: readonly NewDelivery[]): Promise<void> {
  for (let start = 0; start < planned.length; start += insertedAtOnce) {
    const rows = planned.slice(start, start + insertedAtOnce).map((each) => ({
      id: randomUUID(),
      ...each,
      state: 'waiting' as const,
      attempts: 0,
      leaseOwner: null,
      leaseUntilMs: null,
      why: null,
      isLate: null,
      settledAtMs: null,
      seenAtMs: null,
    }));
    await db
      .insertInto('delivery')
      .values(rows)
      .onConflict((conflict) => conflict.column('key').doNothing())
      .execute();
  }
}

/**
 * Reconciles a patient's reminders with a plan: new ones are added; moved ones are moved, even into the past, where
 * sending marks them as late or as moved; those that are no longer wanted and not yet due are removed. Settled ones
 * stay as they are.
 *
 * @param planned those already planned, including a previous day's
 * @param added those of them that are added if missing
 */
export async function replaceReminders(
  db: Db,
  patientId: string,
  planned: readonly NewDelivery[],
  { added, nowMs }: { added: readonly NewDelivery[]; nowMs: number },
): Promise<void> {
  const waiting = await db
    .selectFrom('delivery')
    .select(['id', 'key', 'forAtMs', 'goodUntilMs', 'caregiverId'])
    .where('patientId', '=', patientId)
    .where('kind', 'in', ['due', 'not-begun'])
    .where('state', '=', 'waiting')
    .execute();
  const wanted = new Map(planned.map((each) => [each.key, each]));
  for (const row of waiting) {
    const now = wanted.get(row.key);
    // What is already due is left to sending, which records why it is not wanted.
    if (now === undefined && row.forAtMs <= nowMs) continue;
    if (now === undefined) {
      await db.deleteFrom('delivery').where('id', '=', row.id).where('state', '=', 'waiting').execute();
    } else if (
      now.forAtMs !== row.forAtMs ||
      now.goodUntilMs !== row.goodUntilMs ||
      now.caregiverId !== row.caregiverId
    ) {
      const { slotDueAtMs, forAtMs, nextAtMs, goodUntilMs, caregiverId } = now;
      // No one was late: its time was ahead, and with the change it is past.
      const isOver = row.forAtMs > nowMs && goodUntilMs <= nowMs;
      const over = { state: 'missed', why: 'moved', settledAtMs: nowMs } as const;
      await db
        .updateTable('delivery')
        .set({ slotDueAtMs, forAtMs, nextAtMs, goodUntilMs, caregiverId, ...(isOver ? over : {}) })
        .where('id', '=', row.id)
        .where('state', '=', 'waiting')
        .execute();
    }
  }
  await insertDeliveries(db, added);
}

/** What a process needs to claim deliveries. */
export type Claiming = {
  /** Unique to the process. */
  owner: string;
  nowMs: number;
  leaseMs: number;
  most: number;
  /** Whether other processes claim at the same time, on a server with many connections. */
  isShared: boolean;
  /** Warning signs, or everything else. */
  onlyWarnings: boolean;
  /** Deliveries whose end this process has not seen, whatever the clock says about their lease. */
  except?: readonly string[];
};

/**
 * Claims deliveries that are due, or whose holder has stopped responding; no other process gets them in the meantime.
 */
export async function claimDeliveries(db: Db, claiming: Claiming): Promise<Claimed[]> {
  const { owner, nowMs, leaseMs, most, isShared, onlyWarnings, except = [] } = claiming;
  let due = db
    .selectFrom('delivery')
    .select('id')
    .where(sql<boolean>`"state" in ('waiting', 'sending')`)
    .where('nextAtMs', '<=', nowMs)
    .orderBy('nextAtMs')
    .limit(most);
  due = due.where(onlyWarnings ? sql<boolean>`"kind" = 'warning'` : sql<boolean>`"kind" <> 'warning'`);
  if (except.length > 0) due = due.where('id', 'not in', except);
  if (isShared) due = due.forUpdate().skipLocked();
  return db
    .with('due', () => due)
    .updateTable('delivery')
    .set(({ eb, ref }) => ({
      state: 'sending',
      leaseOwner: owner,
      leaseUntilMs: nowMs + leaseMs,
      nextAtMs: nowMs + leaseMs,
      attempts: eb(ref('attempts'), '+', 1),
    }))
    .where('id', 'in', ({ selectFrom }) => selectFrom('due').select('due.id'))
    .returning([
      ...(['id', 'key', 'clinicId', 'patientId', 'kind', 'prescriptionId', 'slot'] as const),
      ...([
        'slotDueAtMs',
        'subject',
        'contactId',
        'caregiverId',
        'forAtMs',
        'nextAtMs',
        'goodUntilMs',
      ] as const),
      'attempts',
      'why',
    ])
    .execute();
}

/**
 * Rule R2: records the results of deliveries that this process holds; those it no longer holds stay as they are. Runs
 * in a transaction.
 *
 * @returns how many it still held
 */
export async function settleDeliveries(
  db: Db,
  owner: string,
  settled: readonly Settled[],
  nowMs: number,
): Promise<number> {
  const alike = new Map<string, Settled[]>();
  for (const each of settled) {
    const { id: _id, patientId: _patientId, ...rest } = each;
    const key = JSON.stringify(rest);
    alike.set(key, [...(alike.get(key) ?? []), each]);
  }
  let count = 0;
  for (const group of alike.values()) {
    const [first] = group;
    if (first === undefined) continue;
    const { state, why, isLate, nextAtMs, isUntried } = first;
    const changed = await db
      .updateTable('delivery')
      .set(({ eb, ref }) => ({
        state,
        why,
        isLate: isLate ? 1 : 0,
        leaseOwner: null,
        leaseUntilMs: null,
        ...(nextAtMs === null ? {} : { nextAtMs }),
        ...(isUntried ? { attempts: eb(ref('attempts'), '-', 1) } : {}),
        settledAtMs: state === 'waiting' ? null : nowMs,
      }))
      .where(
        'id',
        'in',
        group.map(({ id }) => id),
      )
      .where('leaseOwner', '=', owner)
      .where('state', '=', 'sending')
      .executeTakeFirst();
    count += Number(changed.numUpdatedRows);
  }
  const failedFor = settled
    .filter(({ state }) => state === 'failed')
    .flatMap(({ patientId }) => patientId ?? []);
  // In a fixed order, so that no two processes wait for each other.
  for (const patientId of [...new Set(failedFor)].sort()) await refreshAttention(db, patientId);
  return count;
}

/** A bounced message has failed after all. Runs in a transaction. */
export async function markReturned(
  db: Db,
  id: string,
  { why, nowMs }: { why: string; nowMs: number },
): Promise<void> {
  const failed = await db
    .updateTable('delivery')
    .set({ state: 'failed', why, settledAtMs: nowMs })
    .where('id', '=', id)
    .where('state', '=', 'sent')
    .returning('patientId')
    .executeTakeFirst();
  if (failed !== undefined && failed.patientId !== null) await refreshAttention(db, failed.patientId);
}
