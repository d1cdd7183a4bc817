import type { Troubles } from '../checks/troubles.js';
import { causeOf } from '../errors/cause.js';
import { StillcountError } from '../errors/stillcountError.js';
import type { Log } from '../log/log.js';
import { type Clocks, runTasksByClock } from '../reminders/runTasksByClock.js';
import { hasClinic } from '../store/accounts/clinicians.js';
import type { Store, StoreSettings } from '../store/engine/openStore.js';
import { backUpDaily, dailyBackups, datedBackups, hasBackupWithin } from '../store/service/dailyBackup.js';
import { dayMs, hourMs } from '../time/units.js';

/** Checked each hour, so that a failed backup is retried as soon as possible. */
const hourly = { everyMs: hourMs, times: '40 * * * *', stillAfterMs: null };
/** Separate, so that a hanging backup cannot hide that it is late. */
const sixTimesAnHour = { everyMs: hourMs / 6, times: '*/10 * * * *', stillAfterMs: null };
/** By the machine's local time: hardly anyone listens or prescribes then. */
const quietHour = 3;
/** One backup a day with two hours of grace: if the newest is older, something prevents backups. */
const tooOldMs = dayMs + 2 * hourMs;

export type BackupParts = {
  store: Store;
  /** Location of the database, which is read while the service runs. */
  settings: StoreSettings;
  folder: string;
  troubles: Troubles;
  log: Log;
  /** Epoch milliseconds. */
  now: () => number;
};

/**
 * Makes a backup every day at a quiet hour, and immediately if the newest one is older than a day, also after the clock
 * was set. A failed backup is shown on the owner's home page until one succeeds, and so is a newest one that is too
 * old, whatever the reason.
 *
 * @returns a function that stops it and waits for a backup in progress
 */
export function scheduleBackups(
  parts: BackupParts,
  onFailure: (what: string, error: unknown) => void,
  clocks: Partial<Clocks> = { wallMs: parts.now },
): () => Promise<void> {
  const { steadyMs = () => performance.now() } = clocks;
  const beganMs = steadyMs();
  const make = () => backUpIfDue(parts, new Date(parts.now()).getHours() === quietHour);
  const lookAtAge = () => checkNewestBackup(parts, steadyMs() - beganMs);
  const { end, settled } = runTasksByClock(
    [
      { ...hourly, what: 'daily backup not made', work: make },
      { ...sixTimesAnHour, what: 'age of the backup not looked at', work: lookAtAge },
    ],
    onFailure,
    clocks,
  );
  return async () => {
    await end();
    await settled();
  };
}

/** Makes a backup if it is due. It never rejects. */
async function backUpIfDue(
  { store, settings, folder, troubles, log, now }: BackupParts,
  isQuietHour: boolean,
): Promise<void> {
  try {
    if (!(await store.read(hasClinic))) return;
    const nowMs = now();
    if (hasBackupWithin(await dailyBackups(folder), nowMs, isQuietHour ? dayMs / 2 : dayMs + hourMs)) return;
    const { rows } = await backUpDaily(settings, { folder, nowMs });
    log({ event: 'backup-made', rows });
    troubles.end('backup-failed');
    troubles.end('backup-too-old');
  } catch (error) {
    const cause = error instanceof StillcountError ? (error.problems[0]?.message ?? null) : null;
    log({ event: 'trouble', code: 'backup-failed', cause: causeOf(error) });
    troubles.begin('backup-failed', cause);
  }
}

/**
 * Records when there has been no daily backup for too long, or none at all for as long as this process has been
 * running.
 *
 * @param runningMs how long it has been running
 */
export async function checkNewestBackup(
  { store, folder, troubles, log, now }: Omit<BackupParts, 'settings'>,
  runningMs: number,
): Promise<void> {
  if (!(await store.read(hasClinic))) return;
  // A folder that cannot be read is reported when a backup is to be written into it.
  const backups = await dailyBackups(folder).catch(() => []);
  const isYoung = backups.length === 0 && runningMs < tooOldMs;
  if (isYoung || hasBackupWithin(backups, now(), tooOldMs)) return troubles.end('backup-too-old');
  const cause = tooOldWords(datedBackups(backups, now()));
  log({ event: 'trouble', code: 'backup-too-old', cause });
  troubles.begin('backup-too-old', cause);
}

function tooOldWords({ right: [newest], ahead }: ReturnType<typeof datedBackups>): string {
  const is = newest === undefined ? 'there is none' : `the newest one is of ${dayOf(newest.madeAtMs)}`;
  const [last] = ahead;
  return last === undefined ? is : `${is}, beside one that a wrong clock has dated ${dayOf(last.madeAtMs)}`;
}

const dayOf = (atMs: number) => `${new Date(atMs).toISOString().slice(0, 16)}Z`;
