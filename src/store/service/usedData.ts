import { access, readdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { hasClinic } from '../accounts/clinicians.js';
import { readSnapshot } from '../engine/openStore.js';
import { dailyBackups } from './dailyBackup.js';

/** Where data that is used stands, while the folder that was named holds none. */
export type UsedData = { kind: 'folder' | 'backups'; path: string };

export type NamedData = {
  dataFolder: string;
  backupFolder: string;
  /** The folder that the program was started in. */
  workingFolder: string;
};

/** The folder that is taken where none is named. */
const usualName = 'output';
const databaseName = 'clinic.db';

/**
 * Looks whether a folder without a database stands beside one that is used: the usual folder of the place it was
 * started in, or a neighbor of the named one that holds a clinic; or whether daily backups of it are kept. The folder
 * that a system has for temporary files has no neighbors.
 *
 * @returns null where there is a database, or nothing that is used
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

/** One that cannot be read may hold a clinic. */
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
