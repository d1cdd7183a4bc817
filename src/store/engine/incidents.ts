import type { IncidentTable } from '../schema/schema.js';
import type { Db } from './db.js';

export type Incident = IncidentTable;

/** Why the last change may be missing, in words that stand in the log and on an owner's first page. */
export const lastChangeCause = 'killed, or without power, while it saved';

/** Kinds and causes are few; should they not be, the oldest go. */
const mostKept = 100;

/** Clocks of two processes on one database may differ by so much, without that one of them was set. */
const clockSlackMs = 2_000;

/**
 * Adds what happened to what is known of the same kind and cause. What was dated ahead while the clock was wrong is
 * dated to now, and no one has seen what is noted now. Run it in a transaction.
 */
export async function noteIncidents(db: Db, incidents: readonly Incident[], nowMs: number): Promise<void> {
  const noted = incidents.map((incident) => datedBy(incident, nowMs));
  await redateAfterClockChange(db, {
    beforeMs: Math.min(nowMs, ...noted.map(({ lastAtMs }) => lastAtMs)),
    nowMs,
  });
  for (const incident of noted) {
    await db
      .insertInto('incident')
      .values(incident)
      .onConflict((conflict) =>
        conflict.columns(['code', 'cause']).doUpdateSet(({ eb, ref }) => ({
          times: eb(ref('incident.times'), '+', incident.times),
          lastAtMs: incident.lastAtMs,
          requestId: incident.requestId,
        })),
      )
      .execute();
  }
  const { lastAtMs: oldestMs } =
    (await db
      .selectFrom('incident')
      .select('lastAtMs')
      .orderBy('lastAtMs', 'desc')
      .offset(mostKept)
      .limit(1)
      .executeTakeFirst()) ?? {};
  if (oldestMs !== undefined) await db.deleteFrom('incident').where('lastAtMs', '<=', oldestMs).execute();
}

const datedBy = (incident: Incident, nowMs: number): Incident => ({
  ...incident,
  firstAtMs: Math.min(incident.firstAtMs, nowMs),
  lastAtMs: Math.min(incident.lastAtMs, nowMs),
});

/** The clock was ahead and has been set back: what was seen by it says nothing about what comes now. */
async function redateAfterClockChange(
  db: Db,
  { beforeMs, nowMs }: { beforeMs: number; nowMs: number },
): Promise<void> {
  await dateToNow(db, { afterMs: nowMs + clockSlackMs, nowMs });
  await db
    .updateTable('clinician')
    .set({ incidentsSeenAtMs: beforeMs - 1 })
    .where('incidentsSeenAtMs', '>', nowMs + clockSlackMs)
    .execute();
}

async function dateToNow(db: Db, { afterMs, nowMs }: { afterMs: number; nowMs: number }): Promise<void> {
  await db.updateTable('incident').set({ lastAtMs: nowMs }).where('lastAtMs', '>', afterMs).execute();
  await db.updateTable('incident').set({ firstAtMs: nowMs }).where('firstAtMs', '>', nowMs).execute();
}

/** What has happened since an owner last said that they have seen it, the newest first. */
export async function unseenIncidents(db: Db, ownerId: string, most: number): Promise<Incident[]> {
  return db
    .selectFrom('incident')
    .innerJoin('clinician', (join) => join.on('clinician.id', '=', ownerId))
    .select(['code', 'cause', 'times', 'firstAtMs', 'lastAtMs', 'requestId'])
    .whereRef('incident.lastAtMs', '>', 'clinician.incidentsSeenAtMs')
    .orderBy('lastAtMs', 'desc')
    .orderBy('code')
    .limit(most)
    .execute();
}

/**
 * An owner has seen what happened up to a moment. What is dated ahead and was shown to her happened at the latest now,
 * for every other owner too: otherwise it could be put away by no one. Run it in a transaction.
 */
export async function markIncidentsSeen(
  db: Db,
  ownerId: string,
  { upToMs, nowMs }: { upToMs: number; nowMs: number },
): Promise<void> {
  const seenMs = Math.min(upToMs, nowMs);
  if (upToMs > nowMs) {
    await db
      .updateTable('incident')
      .set({ lastAtMs: nowMs })
      .where('lastAtMs', '>', nowMs)
      .where('lastAtMs', '<=', upToMs)
      .execute();
  }
  await db
    .updateTable('clinician')
    .set({ incidentsSeenAtMs: seenMs })
    .where('id', '=', ownerId)
    .where('incidentsSeenAtMs', '<', seenMs)
    .execute();
}
