import { chmod, mkdir, readFile, rm, stat, utimes, writeFile } from 'node:fs/promises';

export type Damage = { name: string; harm: (path: string, bytes: Buffer, other: Buffer) => Promise<void> };

/** What a full disk, a power cut, a worn-out disk, a copy gone wrong and a hand that slips leave of a file. */
export const damages: readonly Damage[] = [
  { name: 'emptied', harm: (path) => writeFile(path, '') },
  { name: 'cut in half', harm: (path, bytes) => writeFile(path, bytes.subarray(0, bytes.length >> 1)) },
  {
    name: 'changed in one byte in its middle',
    harm: (path, bytes) => {
      const flipped = Buffer.from(bytes);
      flipped[bytes.length >> 1] = (flipped[bytes.length >> 1] ?? 0) ^ 0x10;
      return writeFile(path, flipped);
    },
  },
  { name: 'replaced by another of its kind', harm: (path, _bytes, other) => writeFile(path, other) },
  { name: 'filled with zeros', harm: (path, bytes) => writeFile(path, Buffer.alloc(bytes.length)) },
  { name: 'missing', harm: (path) => rm(path) },
  {
    name: 'a folder',
    harm: async (path) => {
      await rm(path);
      await mkdir(path);
    },
  },
  // Whoever is allowed everything reads it all the same; it is right then.
  { name: 'not readable', harm: (path) => chmod(path, 0o000) },
];

/** Harms a file, if there still is one, and puts back the time of its last change. */
export async function damage(path: string, { harm }: Damage, other: Buffer): Promise<void> {
  const found = await stat(path).catch(() => null);
  if (found?.isFile() !== true) return;
  const { atime, mtime } = found;
  await harm(path, await readFile(path), other);
  await utimes(path, atime, mtime).catch(() => undefined);
}
