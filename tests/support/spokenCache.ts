import { existsSync, linkSync, mkdirSync, readdirSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';

/** Made sessions stay with the test that made them; what they are made of is the same for all. */
const own = 'sessions';

function sharedCache(): string | null {
  const shared = process.env.STILLCOUNT_TEST_SPOKEN;
  return shared === undefined || shared === '' ? null : join(shared, 'cache');
}

/** Lends a new data folder what other tests of this run have spoken. Entries never change, so links to them will do. */
export function lendSpoken(dataFolder: string): void {
  const shared = sharedCache();
  if (shared !== null) linkMissing(shared, join(dataFolder, 'cache'));
}

/** Gives what a test has spoken to those after it. */
export function giveSpoken(dataFolder: string): void {
  const shared = sharedCache();
  if (shared !== null) linkMissing(join(dataFolder, 'cache'), shared);
}

/** At one go: thousands of small files one after the other through promises take ten times as long. */
function linkMissing(from: string, to: string): void {
  const there = new Set(filesIn(to));
  for (const path of filesIn(from)) {
    if (path.startsWith(own) || there.has(path)) continue;
    const target = join(to, path);
    try {
      mkdirSync(dirname(target), { recursive: true });
      linkSync(join(from, path), target);
    } catch {
      // Another test may have given the same, or taken this one away again.
    }
  }
}

function filesIn(folder: string): string[] {
  if (!existsSync(folder)) return [];
  const entries = readdirSync(folder, { recursive: true, withFileTypes: true });
  return entries
    .filter((entry) => entry.isFile())
    .map(({ parentPath, name }) => relative(folder, join(parentPath, name)));
}
