import { readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';

type Found = { path: string; bytes: number; usedAtMs: number };

/** Prune to this share of the limit, so that the next few files do not need pruning again. */
const keptShare = 0.9;

/**
 * Keeps a folder within a size; all its files can be made again. The least recently used files are deleted first, by
 * the time they were last read if the system records it, else by the time they were written.
 *
 * @returns how many files were deleted; 0 for a folder that does not exist
 */
export async function pruneFolder(folder: string, mostBytes: number): Promise<number> {
  const files = await filesIn(folder);
  let bytes = files.reduce((sum, file) => sum + file.bytes, 0);
  if (bytes <= mostBytes) return 0;
  let gone = 0;
  for (const file of files.sort((a, b) => a.usedAtMs - b.usedAtMs)) {
    if (bytes <= mostBytes * keptShare) break;
    // A reader that now finds nothing makes it again.
    await rm(file.path, { force: true });
    bytes -= file.bytes;
    gone += 1;
  }
  return gone;
}

async function filesIn(folder: string): Promise<Found[]> {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true }).catch(() => []);
  const found = await Promise.all(
    entries
      .filter((entry) => entry.isFile())
      .map(async (entry): Promise<Found[]> => {
        const path = join(entry.parentPath, entry.name);
        // A file may be deleted while it is being checked.
        const file = await stat(path).catch(() => null);
        if (file === null) return [];
        return [{ path, bytes: file.size, usedAtMs: Math.max(file.atimeMs, file.mtimeMs) }];
      }),
  );
  return found.flat();
}
