import path from 'node:path';

/** A test file that may detect what a change broke. */
export type NearTest = {
  file: string;
  /** The number of imports between it and the nearest changed file: 0 if it was changed itself. */
  distance: number;
};

/** The code that reads the spoken templates, because there is no code beside them. */
const readersOfTemplates = 'src/catalogue/';

/**
 * Lists the tests that a change can affect, nearest first: changed tests, tests that import changed files directly or
 * through other files, and those in the folder that mirrors the changed file's folder. Files that are not code, such as
 * templates, count as the code beside them.
 *
 * @param importers for each file, the files that import it
 */
export function nearestTests(
  changed: readonly string[],
  files: readonly string[],
  importers: ReadonlyMap<string, readonly string[]>,
): NearTest[] {
  const origins = changed.flatMap((file) => (isCode(file) ? [file] : [file, ...codeBeside(file, files)]));
  const distances = new Map<string, number>(origins.map((file) => [file, 0]));
  const waiting = [...distances.keys()];
  for (let file = waiting.shift(); file !== undefined; file = waiting.shift()) {
    const next = (distances.get(file) ?? 0) + 1;
    for (const importer of importers.get(file) ?? []) {
      if (distances.has(importer)) continue;
      distances.set(importer, next);
      waiting.push(importer);
    }
  }
  const rooms = new Set(origins.flatMap(mirrorOf));
  return files
    .filter((file) => isQuickTest(file))
    .map((file) => {
      const isBeside = rooms.has(path.posix.dirname(file));
      return {
        file,
        distance: Math.min(
          distances.get(file) ?? Number.POSITIVE_INFINITY,
          isBeside ? 2 : Number.POSITIVE_INFINITY,
        ),
      };
    })
    .filter(({ distance }) => Number.isFinite(distance))
    .sort((a, b) => a.distance - b.distance || a.file.localeCompare(b.file));
}

/**
 * Splits the nearest tests into those that fit into a time budget and those that do not. A distant test never replaces
 * a nearer one that fits.
 *
 * @param tookMs how long each file took in its last run
 */
export function fitInto(
  budgetMs: number,
  tests: readonly NearTest[],
  tookMs: ReadonlyMap<string, number>,
): { run: string[]; left: string[]; leftMs: number } {
  const run: string[] = [];
  const left: string[] = [];
  let [usedMs, leftMs] = [0, 0];
  for (const { file } of tests) {
    const needsMs = loadingMs + (tookMs.get(file) ?? unknownMs);
    if (usedMs + needsMs <= budgetMs) {
      run.push(file);
      usedMs += needsMs;
    } else {
      left.push(file);
      leftMs += needsMs;
    }
  }
  return { run, left, leftMs };
}

/** The time that a file takes before its first test starts. */
const loadingMs = 700;
/** Assumed for a file that has never run here. */
const unknownMs = 4_000;

/** Leaves out browser tests, listening tests and tests that wait; `npm test` runs them. */
function isQuickTest(file: string): boolean {
  return /^tests\/(?!listening\/).*(?<!\.browser|\.waiting)\.test\.ts$/.test(file);
}

function isCode(file: string): boolean {
  return /\.(ts|mjs)$/.test(file);
}

/** The code in a file's folder, or in the nearest parent folder that has any. */
function codeBeside(file: string, files: readonly string[]): string[] {
  if (file.startsWith('audio-templates/')) return files.filter((each) => each.startsWith(readersOfTemplates));
  for (let folder = path.posix.dirname(file); folder !== '.'; folder = path.posix.dirname(folder)) {
    const found = files.filter((each) => isCode(each) && path.posix.dirname(each) === folder);
    if (found.length > 0) return found;
  }
  return [];
}

/** The test folders that mirror a file of `src`: its own folder and the parent folders. */
function mirrorOf(file: string): string[] {
  const parts = path.posix.dirname(file).split('/');
  if (parts[0] !== 'src' && parts[0] !== 'scripts') return [];
  const below = parts[0] === 'src' ? parts.slice(1) : parts;
  return below.map((_, index) => ['tests', ...below.slice(0, index + 1)].join('/'));
}
