import { access, readdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { hasClinic } from '../accounts/clinicians.js';
import { readSnapshot } from '../engine/openStore.js';
import { dailyBackups } from './dailyBackup.js';

/** The location of existing data, if the named folder has none. */
export type UsedData = { kind: 'folder' | 'backups'; path: string };

export type NamedData = {
  dataFolder: string;
  backupFolder: string;
  /** The folder that the program was started in. */
  workingFolder: string;
};

/** The folder used if none is named. */
const usualName = 'output';
const databaseName = 'clinic.db';

/**
 * Checks whether a folder without a database is next to one in use: the default folder of the place it was started in,
 * or a neighbor of the named one that has a clinic; or whether there are daily backups of one. The system's temporary
 * folder has no neighbors.
 *
 * @returns null if there is a database, or nothing in use
 */
export async function findUsedData({
  dataFolder,
  backupFolder,
  workingFolder,
}: NamedData): Promise<UsedData | null> {
  if (await exists(join(dataFolder, databaseName))) return null;
  const backups = await dailyBackups(backupFolder).catch(() => []);
  if (backups.length > 0) return { kind: 'backups', path: backupFolder };
  const others = [resolve(workingFolder, usualName), ...(await neighborsOf(dataFolder))];
  for (const path of others) {
    if (path !== dataFolder && (await holdsClinic(path))) return { kind: 'folder', path };
  }
  return null;
}

async function neighborsOf(folder: string): Promise<string[]> {
  const parent = dirname(folder);
  if (parent === resolve(tmpdir())) return [];
  const entries = await readdir(parent, { withFileTypes: true }).catch(() => []);
  return entries
    .filter((entry) => entry.isDirectory())
    .map(({ name }) => join(parent, name))
    .sort();
}

/** One that cannot be read may have a clinic. */
async function holdsClinic(folder: string): Promise<boolean> {
  const file = join(folder, databaseName);
  if (!(await exists(file))) return false;
  return readSnapshot({ kind: 'sqlite', file }, hasClinic).catch(() => true);
}

function exists(path: string): Promise<boolean> {
  return access(path).then(
    () => true,
    () => false,
  );
}
