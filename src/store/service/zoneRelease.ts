import type { Db } from '../engine/openStore.js';
import { isAtWork } from './atWork.js';

/** Stored with the secrets, which also have names; it is not one. */
const name = 'zone-release';

/** The release by which reminders are planned, and when a service last confirmed it. */
export type NotedRelease = { release: string; notedAtMs: number };

export async function readZoneRelease(db: Db): Promise<NotedRelease | null> {
  const noted = await db
    .selectFrom('serviceSecret')
    .select(['value', 'createdAtMs'])
    .where('name', '=', name)
    .executeTakeFirst();
  return noted === undefined ? null : { release: noted.value, notedAtMs: noted.createdAtMs };
}

/**
 * Records that reminders are planned by a release of the time zone data. If it differs from the previous one,
 * everyone's are planned again as soon as possible; also if no service has confirmed it for long, since another may
 * have planned by an older one in the meantime. Runs in a transaction.
 *
 * @param isNewer whether a release replaces another: two services on one database may have different ones
 */
export async function saveZoneRelease(
  db: Db,
  release: string,
  { nowMs, isNewer }: { nowMs: number; isNewer: (release: string, than: string) => boolean },
): Promise<void> {
  const noted = await readZoneRelease(db);
  const isSame = noted?.release === release;
  if (noted !== null && !isSame && !isNewer(release, noted.release)) return;
  await db
    .insertInto('serviceSecret')
    .values({ name, value: release, createdAtMs: nowMs })
    .onConflict((conflict) => conflict.column('name').doUpdateSet({ value: release, createdAtMs: nowMs }))
    .execute();
  const wasAtWork = isSame && isAtWork(noted.notedAtMs, nowMs);
  if (!wasAtWork) await db.updateTable('reminderWatch').set({ planAtMs: 0 }).execute();
}

/** How many patients there are in each zone: in one clinic, or in all. */
export async function patientsByZone(db: Db, clinicId: string | null): Promise<Map<string, number>> {
  let query = db
    .selectFrom('patient')
    .select(({ fn }) => ['zone', fn.countAll<number | string>().as('count')])
    .groupBy('zone')
    .orderBy('zone');
  if (clinicId !== null) query = query.where('clinicId', '=', clinicId);
  const rows = await query.execute();
  return new Map(rows.map(({ zone, count }) => [zone, Number(count)]));
}
