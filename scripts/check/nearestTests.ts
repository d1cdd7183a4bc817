import path from 'node:path';

/** A test file that may find what a change broke. */
export type NearTest = {
  file: string;
  /** How many imports lie between it and the nearest changed file: 0 when it was changed itself. */
  distance: number;
};

/** Who reads the words that are heard: no code lies beside them. */
const readersOfTemplates = 'src/catalogue/';

/**
 * The tests that a change can reach, nearest first: those that were changed, those that import what was changed, over
 * any number of files, and those in the folder that mirrors its folder. Files that are no code, such as templates, count
 * as the code beside them.
 *
 * @param importers for each file, who imports it
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
 * As many of the nearest tests as fit into a time, and those that do not. A far one never takes the place of a nearer one
 * that fits.
 *
 * @param tookMs how long each file took when it last ran
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

/** What a file takes before its first test begins. */
const loadingMs = 700;
/** Taken for a file that was never run here. */
const unknownMs = 4_000;

/** What needs a browser, a listener or a clock of its own is left to `npm test`. */
function isQuickTest(file: string): boolean {
  return /^tests\/(?!listening\/).*(?<!\.browser|\.waiting)\.test\.ts$/.test(file);
}

function isCode(file: string): boolean {
  return /\.(ts|mjs)$/.test(file);
}

/** The code in the folder of a file, or in the nearest one above it that has any. */
function codeBeside(file: string, files: readonly string[]): string[] {
  if (file.startsWith('audio-templates/')) return files.filter((each) => each.startsWith(readersOfTemplates));
  for (let folder = path.posix.dirname(file); folder !== '.'; folder = path.posix.dirname(folder)) {
    const found = files.filter((each) => isCode(each) && path.posix.dirname(each) === folder);
    if (found.length > 0) return found;
  }
  return [];
}

/** The folders of tests that stand for a file of `src`: its own and those above it. */
function mirrorOf(file: string): string[] {
  const parts = path.posix.dirname(file).split('/');
  if (parts[0] !== 'src' && parts[0] !== 'scripts') return [];
  const below = parts[0] === 'src' ? parts.slice(1) : parts;
  return below.map((_, index) => ['tests', ...below.slice(0, index + 1)].join('/'));
}
