import { link, mkdir, readdir } from 'node:fs/promises';
import { dirname, join, relative } from 'node:path';

/** Made sessions stay with the test that made them; what they are made of is the same for all. */
const own = 'sessions';

function sharedCache(): string | null {
  const shared = process.env.STILLCOUNT_TEST_SPOKEN;
  return shared === undefined || shared === '' ? null : join(shared, 'cache');
}

/** Lends a new data folder what other tests of this run have spoken. Entries never change, so links to them will do. */
export async function lendSpoken(dataFolder: string): Promise<void> {
  const shared = sharedCache();
  if (shared !== null) await linkAll(shared, join(dataFolder, 'cache'));
}

/** Gives what a test has spoken to those after it. */
export async function giveSpoken(dataFolder: string): Promise<void> {
  const shared = sharedCache();
  if (shared !== null) await linkAll(join(dataFolder, 'cache'), shared);
}

async function linkAll(from: string, to: string): Promise<void> {
  const entries = await readdir(from, { recursive: true, withFileTypes: true }).catch(() => []);
  for (const entry of entries) {
    const path = relative(from, join(entry.parentPath, entry.name));
    if (!entry.isFile() || path.startsWith(own)) continue;
    const target = join(to, path);
    await mkdir(dirname(target), { recursive: true });
    // Another test may have given the same, or taken this one away again.
    await link(join(from, path), target).catch(() => undefined);
  }
}
