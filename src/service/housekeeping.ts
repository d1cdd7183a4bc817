import { join } from 'node:path';
import type { Incidents } from '../clinic/resources/incidents.js';
import { pruneFolder } from '../files/pruneFolder.js';
import type { Log } from '../log/log.js';
import { runTasksByClock } from '../reminders/runTasksByClock.js';

/** Listeners may have many sessions made in a day: what is over the size goes within the hour. */
const hourly = { everyMs: 3_600_000, times: '20 * * * *', stillAfterMs: null };
const megabyte = 1_000_000;

export type HousekeepingParts = {
  dataFolder: string;
  /** What the sessions that were made may take. */
  mostMegabytes: number;
  log: Log;
  incidents: Incidents;
  /** Epoch milliseconds. */
  now: () => number;
};

/**
 * Keeps what was made of sessions, which can be made again and holds spoken names, within a size: now, every hour, and
 * when the clock was set.
 *
 * @returns a function that ends it and waits for what is under way
 */
export function startHousekeeping({
  dataFolder,
  mostMegabytes,
  log,
  incidents,
  now,
}: HousekeepingParts): () => Promise<void> {
  const prune = async () => {
    const gone = await pruneFolder(join(dataFolder, 'cache'), mostMegabytes * megabyte);
    if (gone > 0) log({ event: 'cache-pruned', files: gone });
  };
  const { end, settled } = runTasksByClock(
    [{ ...hourly, what: 'sessions not pruned', work: prune }],
    (what, error) => incidents.report({ code: 'housekeeping-failed', what, error }),
    { wallMs: now },
  );
  return async () => {
    await end();
    await settled();
  };
}
