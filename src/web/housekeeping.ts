import { join } from 'node:path';
import { schedule } from 'node-cron';
import { pruneFolder } from '../files/pruneFolder.js';
import type { Incidents } from './incidents.js';
import type { Log } from './log.js';

/** Listeners may have many sessions made in a day: what is over the size goes within the hour. */
const hourly = '20 * * * *';
const megabyte = 1_000_000;

/**
 * Keeps what was made of sessions, which can be made again and holds spoken names, within a size: now and
 * every hour.
 *
 * @returns a function that ends it
 */
export function startHousekeeping(
  { dataFolder, mostMegabytes }: { dataFolder: string; mostMegabytes: number },
  { log, incidents }: { log: Log; incidents: Incidents },
): () => Promise<void> {
  const prune = async () => {
    try {
      const gone = await pruneFolder(join(dataFolder, 'cache'), mostMegabytes * megabyte);
      if (gone > 0) log({ event: 'cache pruned', files: gone });
    } catch (error) {
      incidents.report({ code: 'housekeeping-failed', error });
    }
  };
  const task = schedule(hourly, prune, { noOverlap: true });
  const first = prune();
  return async () => {
    await task.destroy();
    await first;
  };
}
