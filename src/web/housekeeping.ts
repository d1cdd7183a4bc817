import { join } from 'node:path';
import { freeBytesIn, lookAtDisk } from '../checks/quickChecks.js';
import { pruneFolder } from '../files/pruneFolder.js';
import { byClock } from '../reminders/byClock.js';
import type { Incidents } from './incidents.js';
import type { Log } from './log.js';
import type { Troubles } from './troubles.js';

/** Listeners may have many sessions made in a day: what is over the size goes within the hour. */
const hourly = { everyMs: 3_600_000, times: '20 * * * *', stillAfterMs: null };
const megabyte = 1_000_000;

export type HousekeepingParts = {
  dataFolder: string;
  /** What the sessions that were made may take. */
  mostMegabytes: number;
  /** How much room a folder's disk has, in bytes; asked of the system when left out. */
  freeBytes?: ((folder: string) => Promise<number>) | undefined;
  log: Log;
  incidents: Incidents;
  troubles: Troubles;
  /** Epoch milliseconds. */
  now: () => number;
};

/**
 * Keeps what was made of sessions, which can be made again and holds spoken names, within a size, and looks whether the
 * disk has room: now, every hour, and when the clock was set.
 *
 * @returns a function that ends it and waits for what is under way
 */
export function startHousekeeping({
  dataFolder,
  mostMegabytes,
  freeBytes = freeBytesIn,
  log,
  incidents,
  troubles,
  now,
}: HousekeepingParts): () => Promise<void> {
  const lookForRoom = async () => {
    const { state, found } = await lookAtDisk(dataFolder, freeBytes);
    if (state === 'ok') return troubles.end('disk-nearly-full');
    log({ event: 'trouble', code: 'disk-nearly-full', cause: found });
    troubles.begin('disk-nearly-full', found);
  };
  const prune = async () => {
    const gone = await pruneFolder(join(dataFolder, 'cache'), mostMegabytes * megabyte);
    if (gone > 0) log({ event: 'cache pruned', files: gone });
  };
  const { end, settled } = byClock(
    [
      { ...hourly, what: 'sessions not pruned', work: prune },
      { ...hourly, what: 'disk not looked at', work: lookForRoom },
    ],
    (what, error) => incidents.report({ code: 'housekeeping-failed', what, error }),
    { wallMs: now },
  );
  return async () => {
    await end();
    await settled();
  };
}
