import { statSync } from 'node:fs';
import type { Troubles } from '../checks/troubles.js';
import type { Log } from '../log/log.js';
import { type Clocks, runTasksByClock } from '../reminders/runTasksByClock.js';
import { checkDatabaseFile } from '../store/engine/checkDatabaseFile.js';
import { mostBytesAtStart } from '../store/engine/damage.js';
import { dayMs } from '../time/units.js';

/** In the night, by the clock of the machine, after the daily backup. */
const daily = { everyMs: dayMs, times: '20 4 * * *', stillAfterMs: null };

export type DatabaseWatchParts = {
  /** The SQLite file of the service. */
  file: string;
  troubles: Troubles;
  log: Log;
  /** What was looked through before the service answered; as usual when left out. */
  mostBytes?: number;
};

/**
 * Looks through the database file every day, beside the service; and at once when it was too large to be looked through
 * at the start. What is damaged stands on the owner's first page until it is found to be whole.
 *
 * @returns a function that ends it and waits for what is under way
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
