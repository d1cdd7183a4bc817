import { mkdir, readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { cannotWrite, errorCodeOf } from '../../files/fileProblem.js';
import type { StoreSettings } from '../engine/openStore.js';
import { backUp } from './backup.js';

/** How many backups are kept; the oldest are deleted first. */
export const keptBackups = 14;

/** Only our own names: other files in the folder are left alone. */
const ourName = /^daily-(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})Z\.backup$/;

export type KeptBackup = { file: string; madeAtMs: number };

/**
 * The backups in a folder that {@link backUpDaily} made, newest first; none if there is no folder.
 *
 * @throws StillcountError kind `work` if the folder cannot be read
 */
export async function dailyBackups(folder: string): Promise<KeptBackup[]> {
  const names = await readdir(folder).catch((error: unknown) => {
    if (errorCodeOf(error) === 'ENOENT') return [];
    throw cannotWrite(folder, error);
  });
  return names
    .flatMap((name): KeptBackup[] => {
      const parts = ourName.exec(name)?.slice(1).map(Number);
      if (parts === undefined) return [];
      const [year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0] = parts;
      return [{ file: join(folder, name), madeAtMs: Date.UTC(year, month - 1, day, hour, minute, second) }];
    })
    .sort((a, b) => b.madeAtMs - a.madeAtMs);
}

/** A clock that was corrected by less was not wrong. */
const slackMs = 3_600_000;

/** Those dated in the future were made while the clock was wrong; their real time is unknown. */
function isAhead({ madeAtMs }: KeptBackup, nowMs: number): boolean {
  return madeAtMs > nowMs + slackMs;
}

/** Splits backups into those dated by a correct clock and those that a wrong clock has dated ahead. */
export function datedBackups(
  backups: readonly KeptBackup[],
  nowMs: number,
): { right: KeptBackup[]; ahead: KeptBackup[] } {
  return {
    right: backups.filter((each) => !isAhead(each, nowMs)),
    ahead: backups.filter((each) => isAhead(each, nowMs)),
  };
}

/**
 * Whether one of them was made within a period before a given time. One dated ahead was made while the clock was wrong,
 * and says nothing about those made since.
 */
export function hasBackupWithin(backups: readonly KeptBackup[], nowMs: number, ms: number): boolean {
  return datedBackups(backups, nowMs).right.some(({ madeAtMs }) => nowMs - madeAtMs < ms);
}

/**
 * Writes everything into a new file in a folder, reads it back from end to end, and only then deletes the oldest beyond
 * {@link keptBackups}, starting with those that a wrong clock has dated ahead.
 *
 * @throws StillcountError kind `work` if the database cannot be read or the folder cannot be written
 */
export async function backUpDaily(
  settings: StoreSettings,
  { folder, nowMs }: { folder: string; nowMs: number },
): Promise<{ file: string; rows: number }> {
  try {
    await mkdir(folder, { recursive: true, mode: 0o700 });
  } catch (error) {
    throw cannotWrite(folder, error);
  }
  const at = new Date(nowMs).toISOString().replaceAll(/[-:]|\.\d+/g, '');
  const file = join(folder, `daily-${at}.backup`);
  const rows = await backUp(settings, file);
  const { right, ahead } = datedBackups(await dailyBackups(folder), nowMs);
  for (const old of [...right, ...ahead].slice(keptBackups)) await rm(old.file, { force: true });
  return { file, rows };
}
