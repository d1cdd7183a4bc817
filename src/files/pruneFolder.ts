import { readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';

type Found = { path: string; bytes: number; usedAtMs: number };

/** Made room for, so that the next few files do not need pruning again. */
const keptShare = 0.9;

/**
 * Keeps a folder of files that can all be made again within a size: those not used for longest go first, by the
 * time of their last reading as far as the system notes it, else of their writing.
 *
 * @returns how many files went; 0 for a folder that does not exist
 */
export async function pruneFolder(folder: string, mostBytes: number): Promise<number> {
  const files = await filesIn(folder);
  let bytes = files.reduce((sum, file) => sum + file.bytes, 0);
  if (bytes <= mostBytes) return 0;
  let gone = 0;
  for (const file of files.sort((a, b) => a.usedAtMs - b.usedAtMs)) {
    if (bytes <= mostBytes * keptShare) break;
    // Whoever reads it now finds nothing and makes it again.
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
        // A file may go while it is looked at.
        const file = await stat(path).catch(() => null);
        if (file === null) return [];
        return [{ path, bytes: file.size, usedAtMs: Math.max(file.atimeMs, file.mtimeMs) }];
      }),
  );
  return found.flat();
}
