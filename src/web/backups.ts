import { schedule } from 'node-cron';
import { StillcountError } from '../errors/stillcountError.js';
import { hasClinic } from '../store/clinicians.js';
import { backUpDaily, dailyBackups } from '../store/dailyBackup.js';
import type { Store, StoreSettings } from '../store/openStore.js';
import { causeOf } from './incidents.js';
import type { Log } from './log.js';
import type { Troubles } from './troubles.js';

/** Looked at each hour, so that one that failed is made as soon as it can be. */
const hourly = '40 * * * *';
/** By the clock of the machine: hardly anybody listens or prescribes. */
const quietHour = 3;
const hourMs = 3_600_000;
const dayMs = 24 * hourMs;

export type BackupParts = {
  store: Store;
  /** Where the same database is, to be read beside the service. */
  settings: StoreSettings;
  folder: string;
  troubles: Troubles;
  log: Log;
  /** Epoch milliseconds. */
  now: () => number;
};

/**
 * Makes a backup every day at a quiet hour, and at once when the newest one is older than a day. One that fails stands
 * on the owner's first page until one has been made.
 *
 * @returns a function that ends it and waits for the one that is being made
 */
export function keepBackups(parts: BackupParts): () => Promise<void> {
  let last: Promise<void> = backUpIfDue(parts, false);
  const task = schedule(hourly, () => {
    const isQuiet = new Date(parts.now()).getHours() === quietHour;
    last = last.then(() => backUpIfDue(parts, isQuiet));
  });
  return async () => {
    await task.destroy();
    await last;
  };
}

/** Makes a backup if it is time for one. It never rejects. */
export async function backUpIfDue(
  { store, settings, folder, troubles, log, now }: BackupParts,
  isQuietHour: boolean,
): Promise<void> {
  try {
    if (!(await store.read(hasClinic))) return;
    const nowMs = now();
    const newest = (await dailyBackups(folder))[0]?.madeAtMs ?? Number.NEGATIVE_INFINITY;
    // One from the future was made while the clock was wrong.
    const isRecent = Math.abs(nowMs - newest) < (isQuietHour ? dayMs / 2 : dayMs + hourMs);
    if (isRecent) return;
    const { rows } = await backUpDaily(settings, { folder, nowMs });
    log({ event: 'backup made', rows });
    troubles.end('backup-failed');
  } catch (error) {
    const cause = error instanceof StillcountError ? (error.problems[0]?.message ?? null) : null;
    log({ event: 'trouble', code: 'backup-failed', cause: causeOf(error) });
    troubles.begin('backup-failed', cause);
  }
}
