import { linkSync, mkdirSync, readdirSync, rmSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';

/** By the first two letters of its key, as a cache lays out what it keeps. */
const places = Array.from({ length: 256 }, (_, index) => index.toString(16).padStart(2, '0'));

function sharedCache(): string | null {
  const shared = process.env.STILLCOUNT_TEST_SPOKEN;
  return shared === undefined || shared === '' ? null : join(shared, 'cache');
}

/**
 * Lends a new data folder what other tests of this run have spoken, and gives those after it what is spoken there: entries
 * never change, so one folder will do for all. A service looks through its own at every start, which for thousands of
 * entries would be a quarter of its time. Made sessions, beside them, stay with the test that made them.
 */
export function shareSpoken(dataFolder: string): void {
  const shared = sharedCache();
  if (shared === null) return;
  mkdirSync(join(dataFolder, 'cache'), { recursive: true });
  for (const place of places) {
    mkdirSync(join(shared, place), { recursive: true });
    symlinkSync(join(shared, place), join(dataFolder, 'cache', place), 'dir');
  }
}

/** Lends a new data folder what was spoken so far, each entry by itself: for tests of what comes to lie there. */
export function lendSpoken(dataFolder: string): void {
  const shared = sharedCache();
  if (shared === null) return;
  for (const place of places) {
    const own = join(dataFolder, 'cache', place);
    rmSync(own, { force: true });
    for (const second of namesIn(join(shared, place))) {
      const [source, target] = [join(shared, place, second), join(own, second)];
      mkdirSync(target, { recursive: true });
      const whole = namesIn(source).filter((name) => !name.endsWith('.part'));
      for (const name of whole) linkSync(`${source}/${name}`, `${target}/${name}`);
    }
  }
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch {
    return [];
  }
}
