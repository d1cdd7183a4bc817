import type { IncidentTable } from '../schema/schema.js';
import type { Db } from './db.js';

export type Incident = IncidentTable;

/** Why the last change may be missing, in words for the log and an owner's home page. */
export const lastChangeCause = 'killed, or without power, while it saved';

/** There are few kinds and causes; if there are ever more, the oldest are dropped. */
const mostKept = 100;

/** The clocks of two processes on one database may differ by this much without one of them having been set. */
const clockSlackMs = 2_000;

/**
 * Merges a failure into earlier ones of the same kind and cause. What was dated ahead by a wrong clock is redated to
 * now, and counts as unseen. Runs in a transaction.
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

/** The clock was ahead and has been set back: what an owner has seen says nothing about later failures. */
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

/** Failures since an owner last marked them as seen, newest first. */
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
 * Marks failures up to a given time as seen by an owner. A failure dated ahead that was shown to her happened at the
 * latest now, for every other owner too; otherwise no one could dismiss it. Runs in a transaction.
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
