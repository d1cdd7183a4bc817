import { open, readdir, readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { ZoneTable } from '../schedule/zoneTable.js';
import { readTzif } from './tzif.js';

/** Where systems store their compiled zones; the first is that of Linux and macOS. */
const usualFolders = ['/usr/share/zoneinfo', '/usr/share/lib/zoneinfo', '/usr/lib/zoneinfo'];

/** The IANA data of this computer. */
export type SystemZones = {
  folder: string;
  release: string;
  /**
   * The latest time at which the release was published: when the system's vendor wrote the file, epoch milliseconds.
   */
  releasedByMs: number;
};

/**
 * Finds the release that the system has: `tzdata.zi` begins with `# version 2026d`, `+VERSION` holds nothing else.
 *
 * @param folders the default ones, or the one in the environment variable TZDIR
 * @returns null if the system has no zone data or does not say which release it is
 */
export async function findSystemZones(
  folders: readonly string[] = usualFolders,
): Promise<SystemZones | null> {
  for (const folder of folders) {
    for (const [name, pattern] of releaseFiles) {
      const file = join(folder, name);
      const release = pattern.exec((await beginningOf(file)) ?? '')?.[1];
      if (release !== undefined) return { folder, release, releasedByMs: (await stat(file)).mtimeMs };
    }
  }
  return null;
}

const releaseFiles = [
  ['tzdata.zi', /^# version (\d{4}[a-z]+)/],
  ['+VERSION', /^(\d{4}[a-z]+)\s*$/],
] as const;

/** Duplicates of the zones, for POSIX and with leap seconds, and files that name the computer's own zone. */
const notZones = /^(posix|right)\/|^(localtime|posixrules|Factory)$/;

/** Reads one zone of the system; null if it is missing or cannot be read. */
export async function readSystemZone(folder: string, name: string): Promise<ZoneTable | null> {
  // Names come from the database and from form input: none may lead out of the folder.
  if (!/^[A-Za-z0-9_+-]+(?:\/[A-Za-z0-9_+-]+)*$/.test(name) || notZones.test(name)) return null;
  const bytes = await readFile(join(folder, name)).catch(() => null);
  return bytes === null ? null : readTzif(bytes);
}

/** Reads all zones of the system, by name. */
export async function readSystemZones(folder: string): Promise<Map<string, ZoneTable>> {
  const tables = new Map<string, ZoneTable>();
  const names = (await readdir(folder, { recursive: true })).map((name) => name.replaceAll('\\', '/'));
  for (const name of names.sort()) {
    const table = await readSystemZone(folder, name);
    if (table !== null) tables.set(name, table);
  }
  return tables;
}

async function beginningOf(file: string): Promise<string | null> {
  try {
    const handle = await open(file);
    try {
      const { buffer, bytesRead } = await handle.read(Buffer.alloc(100), 0, 100, 0);
      return buffer.subarray(0, bytesRead).toString('latin1');
    } finally {
      await handle.close();
    }
  } catch {
    return null;
  }
}
