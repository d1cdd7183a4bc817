import { join } from 'node:path';
import type { Incidents } from '../clinic/resources/incidents.js';
import { pruneFolder } from '../files/pruneFolder.js';
import type { Log } from '../log/log.js';
import { runTasksByClock } from '../reminders/runTasksByClock.js';

/** Listeners can cause many sessions to be rendered in a day: whatever exceeds the limit is deleted within the hour. */
const hourly = { everyMs: 3_600_000, times: '20 * * * *', stillAfterMs: null };
const megabyte = 1_000_000;

export type HousekeepingParts = {
  dataFolder: string;
  /** The space that rendered sessions may take. */
  mostMegabytes: number;
  log: Log;
  incidents: Incidents;
  /** Epoch milliseconds. */
  now: () => number;
};

/**
 * Keeps rendered sessions, which can be rendered again and contain spoken names, within a size limit: now, every hour,
 * and after the clock was set.
 *
 * @returns a function that stops it and waits for work in progress
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
