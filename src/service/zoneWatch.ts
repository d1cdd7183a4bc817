import type { Troubles } from '../checks/troubles.js';
import { describeError } from '../errors/cause.js';
import type { Log } from '../log/log.js';
import { runTasksByClock } from '../reminders/runTasksByClock.js';
import type { Db, Store } from '../store/engine/openStore.js';
import { isAtWork, markAtWork } from '../store/service/atWork.js';
import { type NotedRelease, readZoneRelease, saveZoneRelease } from '../store/service/zoneRelease.js';
import { isNewer, openZoneData, type ZoneData, type ZoneDataOptions } from '../zones/zoneData.js';

/** Systems update their zone data on their own, even while a service runs for months. */
const hourly = { everyMs: 3_600_000, times: '50 * * * *', stillAfterMs: null };
/** Recorded by a service that plans by a release, so that other services know that one does. */
const noted = { everyMs: 300_000, times: '20 */5 * * * *', stillAfterMs: null };

export type ZonePlanning = {
  store: Store;
  zoneData: ZoneData;
  log: Log;
  troubles: Troubles;
  now: () => number;
};

/**
 * Checks each hour, and after the clock was set, whether the system has a newer release, and uses it from then on. More
 * often, it records that plans use it, and checks whether another service on the same database has a newer one.
 *
 * @returns a function that stops it
 */
export function watchZoneData(
  service: ZonePlanning,
  folders: ZoneDataOptions['folders'],
  onFailure: (what: string, error: unknown) => void,
): () => Promise<void> {
  const tasks = [
    { ...hourly, what: 'zone data not looked at', work: () => lookForNewerZoneData(service, folders) },
    { ...noted, what: 'zone data not noted', work: () => replanForZoneRelease(service) },
  ];
  const { end, settled } = runTasksByClock(tasks, onFailure, { wallMs: service.now });
  return async () => {
    await end();
    await settled();
  };
}

/** Switches to a newer release and has everything planned again. It never rejects. */
async function lookForNewerZoneData(
  service: ZonePlanning,
  folders: ZoneDataOptions['folders'],
): Promise<void> {
  try {
    if (await service.zoneData.isOutdated()) {
      service.zoneData = await openZoneData({ folders });
      service.log({ event: 'zone-data-updated', release: service.zoneData.used.release });
    }
    // Every time: what could not be recorded an hour ago is recorded now.
    await replanForZoneRelease(service);
  } catch (error) {
    service.log({ event: 'zone-data-unread', error: describeError(error) });
  }
}

/**
 * Plans made with another release are made again, because a reminder may be due at another hour. If others had a newer
 * one, an owner is notified.
 */
export async function replanForZoneRelease(service: ZonePlanning): Promise<void> {
  const { store, zoneData, now, log, troubles } = service;
  const { release } = zoneData.used;
  const planned = await store.write(async (db) => {
    await markAtWork(db, now());
    await saveZoneRelease(db, release, { nowMs: now(), isNewer });
    return readZoneRelease(db);
  });
  const kind = standing(planned, service);
  for (const each of ['zones-left', 'zones-older'] as const) if (each !== kind) troubles.end(each);
  if (kind === null || planned === null) return;
  const cause = `release ${planned.release} there, ${release} here`;
  if (troubles.all().every((each) => each.kind !== kind)) log({ event: 'trouble', code: kind, cause });
  troubles.begin(kind, cause);
}

/**
 * Returns whether reminders are planned and sent here: not while another service does it by newer rules. If that one is
 * gone, the older rules are better than none.
 */
export async function isPlanningHere(
  db: Db,
  service: Omit<ZonePlanning, 'log' | 'troubles'>,
): Promise<boolean> {
  return standing(await readZoneRelease(db), service) !== 'zones-left';
}

/** Compares this service's rules with those by which reminders are planned; null if they are not older. */
function standing(
  planned: NotedRelease | null,
  { store, zoneData, now }: Omit<ZonePlanning, 'log' | 'troubles'>,
): 'zones-left' | 'zones-older' | null {
  if (planned === null || !isNewer(planned.release, zoneData.used.release)) return null;
  // Only one process can hold the SQLite file.
  const isLeft = store.kind === 'postgres' && isAtWork(planned.notedAtMs, now());
  return isLeft ? 'zones-left' : 'zones-older';
}
