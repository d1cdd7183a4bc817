import type { Db } from './db.js';
import type { IncidentTable } from './schema.js';

export type Incident = IncidentTable;

/** Kinds and causes are few; should they not be, the oldest go. */
const mostKept = 100;

/** Adds what happened to what is known of the same kind and cause. */
export async function noteIncidents(db: Db, incidents: readonly Incident[]): Promise<void> {
  for (const incident of incidents) {
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

/** An owner has seen what happened up to a moment. */
export async function markIncidentsSeen(db: Db, ownerId: string, upToMs: number): Promise<void> {
  await db
    .updateTable('clinician')
    .set({ incidentsSeenAtMs: upToMs })
    .where('id', '=', ownerId)
    .where('incidentsSeenAtMs', '<', upToMs)
    .execute();
}
