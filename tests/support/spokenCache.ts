import { randomUUID } from 'node:crypto';
import { existsSync, linkSync, mkdirSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';

/** Made sessions stay with the test that made them; what they are made of is the same for all. */
const own = 'sessions';

function sharedCache(): string | null {
  const shared = process.env.STILLCOUNT_TEST_SPOKEN;
  return shared === undefined || shared === '' ? null : join(shared, 'cache');
}

/** Where caches wait that were lent: to take one is a move, to link and remove its thousands of files takes a second. */
function returnedCaches(shared: string): string {
  return join(shared, '..', 'returned');
}

/** Lends a new data folder what other tests of this run have spoken. Entries never change, so links to them will do. */
export function lendSpoken(dataFolder: string): void {
  const shared = sharedCache();
  if (shared === null) return;
  const lent = join(dataFolder, 'cache');
  takeReturned(returnedCaches(shared), lent);
  linkMissing(shared, lent);
}

/** Gives what a test has spoken to those after it. The test needs its data folder no more. */
export function giveSpoken(dataFolder: string): void {
  const shared = sharedCache();
  if (shared === null) return;
  const lent = join(dataFolder, 'cache');
  linkMissing(lent, shared);
  try {
    rmSync(join(lent, own), { recursive: true, force: true });
    mkdirSync(returnedCaches(shared), { recursive: true });
    renameSync(lent, join(returnedCaches(shared), randomUUID()));
  } catch {
    // It goes with its data folder.
  }
}

function takeReturned(returned: string, lent: string): void {
  for (const name of existsSync(returned) ? readdirSync(returned) : []) {
    try {
      mkdirSync(dirname(lent), { recursive: true });
      renameSync(join(returned, name), lent);
      return;
    } catch {
      // Another test has taken it.
    }
  }
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
