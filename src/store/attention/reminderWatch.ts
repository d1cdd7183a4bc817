import { sql } from 'kysely';
import type { Db } from '../engine/openStore.js';
import { schedulePlanning } from './patientChanged.js';

/** The stored results of planning one patient's reminders. */
export type Watched = {
  patientId: string;
  clinicId: string;
  plannedUntilMs: number | null;
};

/** Schedules planning of a patient's reminders for later: something is wrong with them now. */
export async function postponePlanning(db: Db, patientId: string, atMs: number): Promise<void> {
  await db.updateTable('reminderWatch').set({ planAtMs: atMs }).where('patientId', '=', patientId).execute();
}

/** The same for everyone a caregiver cares for. */
export async function schedulePlanningForCaregiver(db: Db, personId: string): Promise<void> {
  const patients = await db
    .selectFrom('caregiver')
    .select('patientId')
    .distinct()
    .where('personId', '=', personId)
    .orderBy('patientId')
    .execute();
  for (const { patientId } of patients) await schedulePlanning(db, patientId);
}

/** Patients whose reminders are due for planning, longest waiting first. */
export async function listPatientsToPlan(db: Db, nowMs: number, most: number): Promise<string[]> {
  const rows = await db
    .selectFrom('reminderWatch')
    .select('patientId')
    .where('planAtMs', '<=', nowMs)
    .orderBy('planAtMs')
    .orderBy('patientId')
    .limit(most)
    .execute();
  return rows.map(({ patientId }) => patientId);
}

/**
 * Claims one patient for planning, so that no other process does the same; null if planning is no longer due, or
 * another process has claimed it. Runs in the transaction that plans.
 */
export async function claimPlanning(
  db: Db,
  patientId: string,
  { nowMs, isShared }: { nowMs: number; isShared: boolean },
): Promise<Watched | null> {
  let query = db
    .selectFrom('reminderWatch')
    .select(['patientId', 'clinicId', 'plannedUntilMs'])
    .where('patientId', '=', patientId)
    .where('planAtMs', '<=', nowMs);
  if (isShared) query = query.forUpdate().skipLocked();
  return (await query.executeTakeFirst()) ?? null;
}

/** When something about reminders is next due: sending or planning. Null if there is nothing. */
export async function nextReminderMs(db: Db): Promise<number | null> {
  const toSend = await db
    .selectFrom('delivery')
    .select('nextAtMs')
    .where(sql<boolean>`"state" in ('waiting', 'sending')`)
    .orderBy('nextAtMs')
    .limit(1)
    .executeTakeFirst();
  const toPlan = await db
    .selectFrom('reminderWatch')
    .select('planAtMs')
    .orderBy('planAtMs')
    .limit(1)
    .executeTakeFirst();
  const moments = [toSend?.nextAtMs, toPlan?.planAtMs].flatMap((each) => each ?? []);
  return moments.length === 0 ? null : Math.min(...moments);
}

/** Everything before a given time counts as already planned: for history that is added later. */
export async function markPlannedUntil(db: Db, untilMs: number): Promise<void> {
  await db.updateTable('reminderWatch').set({ plannedUntilMs: untilMs }).execute();
}

/** Records the results of planning. */
export async function savePlanning(
  db: Db,
  patientId: string,
  seen: {
    planAtMs: number;
    plannedUntilMs: number;
    nextDueAtMs: number | null;
    quietSinceMs: number | null;
    reviewSinceMs: number | null;
  },
): Promise<void> {
  await db.updateTable('reminderWatch').set(seen).where('patientId', '=', patientId).execute();
}

/** The patient whose next session is to be rendered ahead first, of those due before a given time; null for none. */
export async function findNextToPrepare(
  db: Db,
  dueBeforeMs: number,
): Promise<{ patientId: string; clinicId: string; nextDueAtMs: number } | null> {
  const found = await db
    .selectFrom('reminderWatch')
    .select(['patientId', 'clinicId', 'nextDueAtMs'])
    .where('nextDueAtMs', '<=', dueBeforeMs)
    // Matches the index, so that finished ones are not read again and again.
    .where(sql<boolean>`("madeForMs" is null or "madeForMs" < "nextDueAtMs")`)
    .orderBy('nextDueAtMs')
    .limit(1)
    .executeTakeFirst();
  if (found === undefined || found.nextDueAtMs === null) return null;
  return { ...found, nextDueAtMs: found.nextDueAtMs };
}

/** Claims the rendering of a session; false if another process has claimed it. */
export async function claimPreparation(db: Db, patientId: string, dueAtMs: number): Promise<boolean> {
  const result = await db
    .updateTable('reminderWatch')
    .set({ madeForMs: dueAtMs })
    .where('patientId', '=', patientId)
    .where(({ eb, or }) => or([eb('madeForMs', 'is', null), eb('madeForMs', '<', dueAtMs)]))
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}
