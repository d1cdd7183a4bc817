import { existsSync, linkSync, mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

/** Made sessions, beside them, stay with the test that made them; what they are made of is the same for all. */
const isPlace = /^[0-9a-f]{2}$/;

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
  const isNew = !existsSync(to);
  for (const first of namesIn(from)) {
    if (!isPlace.test(first)) continue;
    for (const second of namesIn(join(from, first))) {
      const [source, target] = [join(from, first, second), join(to, first, second)];
      const there = isNew ? [] : namesIn(target);
      const missing = namesIn(source).filter((name) => !there.includes(name));
      if (missing.length === 0) continue;
      try {
        mkdirSync(target, { recursive: true });
        for (const name of missing) linkSync(`${source}/${name}`, `${target}/${name}`);
      } catch {
        // Another test may have given the same, or taken this one away again.
      }
    }
  }
}

function namesIn(folder: string): string[] {
  return existsSync(folder) ? readdirSync(folder) : [];
}
