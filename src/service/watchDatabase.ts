import { statSync } from 'node:fs';
import type { Troubles } from '../checks/troubles.js';
import type { Log } from '../log/log.js';
import { type Clocks, runTasksByClock } from '../reminders/runTasksByClock.js';
import { checkDatabaseFile } from '../store/engine/checkDatabaseFile.js';
import { mostBytesAtStart } from '../store/engine/damage.js';
import { dayMs } from '../time/units.js';

/** At night, by the machine's local time, after the daily backup. */
const daily = { everyMs: dayMs, times: '20 4 * * *', stillAfterMs: null };

export type DatabaseWatchParts = {
  /** The SQLite file of the service. */
  file: string;
  troubles: Troubles;
  log: Log;
  /** The size up to which the file was checked before startup; the default when left out. */
  mostBytes?: number;
};

/**
 * Checks the database file every day in a separate process; and immediately if it was too large to be checked at
 * startup. Damage is shown on the owner's home page until the file is found intact.
 *
 * @returns a function that stops it and waits for work in progress
 */
export function watchDatabase(
  { file, troubles, log, mostBytes = mostBytesAtStart }: DatabaseWatchParts,
  onFailure: (what: string, error: unknown) => void,
  clocks: Partial<Clocks> = {},
): () => Promise<void> {
  const stopping = new AbortController();
  let isLookedThrough = (statSync(file, { throwIfNoEntry: false })?.size ?? 0) <= mostBytes;
  const look = async () => {
    if (isLookedThrough) {
      isLookedThrough = false;
      return;
    }
    const found = await checkDatabaseFile(file, stopping.signal).catch((error: unknown) => {
      if (stopping.signal.aborted) return null;
      throw error;
    });
    if (stopping.signal.aborted) return;
    if (found === null) return troubles.end('database-damaged');
    log({ event: 'trouble', code: 'database-damaged', cause: found });
    troubles.begin('database-damaged', found);
  };
  const task = { ...daily, what: 'database file not looked through', work: look };
  const { end, settled } = runTasksByClock([task], onFailure, clocks);
  return async () => {
    stopping.abort();
    await end();
    await settled();
  };
}
