import { schedule } from 'node-cron';
import type { Store } from '../store/openStore.js';
import { noteZoneRelease } from '../store/zoneRelease.js';
import { isNewer, openZoneData, type ZoneData, type ZoneDataOptions } from '../zones/zoneData.js';
import type { Log } from './log.js';

/** Systems update their zone data by themselves, also under a service that runs for months. */
const hourly = '50 * * * *';

/**
 * Looks each hour whether the system has got a newer release, and goes by it from then on.
 *
 * @returns a function that ends it
 */
export function watchZoneData(
  service: { store: Store; zoneData: ZoneData; log: Log; now: () => number },
  folders: ZoneDataOptions['folders'],
): () => Promise<void> {
  let last = Promise.resolve();
  const task = schedule(hourly, () => {
    last = last.then(() => lookForNewerZoneData(service, folders));
  });
  return async () => {
    await task.destroy();
    await last;
  };
}

/** Takes a newer release into use, and has everything planned by it. It never rejects. */
export async function lookForNewerZoneData(
  service: { store: Store; zoneData: ZoneData; log: Log; now: () => number },
  folders: ZoneDataOptions['folders'],
): Promise<void> {
  try {
    if (await service.zoneData.isOutdated()) {
      service.zoneData = await openZoneData({ folders });
      service.log({ event: 'newer zone data', release: service.zoneData.used.release });
    }
    // Each time: what could not be noted an hour ago is noted now.
    await useForPlans(service);
  } catch (error) {
    service.log({ event: 'zone data not looked at', name: error instanceof Error ? error.name : 'thrown' });
  }
}

/** Plans that were made by another release are made anew: a reminder may have its time at another hour. */
export async function useForPlans({
  store,
  zoneData: { used },
  now,
}: {
  store: Store;
  zoneData: ZoneData;
  now: () => number;
}): Promise<void> {
  await store.write((db) => noteZoneRelease(db, used.release, { nowMs: now(), isNewer }));
}
