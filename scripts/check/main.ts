// Runs while working: style, types, architecture, unused code, and the tests nearest to the change, in less than a
// minute on two cores once their caches are warm. `npm test` runs everything.
//
//     npm run check                     what changed since this branch left the trunk
//     npm run check -- --since HEAD     since a revision
//     npm run check -- --watch          and again whenever a file changes, until Ctrl+C
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { changedFiles } from './changedFiles.js';
import { fitInto, nearestTests } from './nearestTests.js';
import { lineOf, type Part, runParts } from './runParts.js';
import { changedBetween, readImporters, readStamps, sourceFiles } from './sources.js';
import { readLastRun } from './tookMs.js';

const root = fileURLToPath(new URL('../..', import.meta.url));
const cache = join(root, 'node_modules/.cache/stillcount');
/** The time that the tests may take, summed over both cores. */
const budgetMs = 2 * 28_000;
/** The number of cores to use. */
const lanes = 2;
/** How long no file may change before a run starts, because a save often writes several files. */
const quietMs = 300;

const tools: readonly Part[] = [
  { title: 'types', command: 'tsc', words: [] },
  {
    title: 'architecture',
    command: 'depcruise',
    words: [
      '--config',
      '.dependency-cruiser.cjs',
      '--cache',
      join(cache, 'imports'),
      '--output-type',
      'err',
      'src',
    ],
  },
  { title: 'style', command: 'biome', words: ['ci', '.'] },
  { title: 'unused code', command: 'knip', words: ['--no-progress', '--treat-config-hints-as-errors'] },
  { title: 'browser', command: 'tsc', words: ['--project', 'src/browser'] },
  { title: 'worker', command: 'tsc', words: ['--project', 'src/browser/worker'] },
];

const { values } = parseArgs({
  options: { since: { type: 'string' }, watch: { type: 'boolean', default: false } },
});
process.chdir(root);
// Tests with speech share their clips from one run to the next.
process.env.STILLCOUNT_TEST_SPOKEN ??= join(cache, 'spoken');

let stamps = await readStamps(root);
let isGood = await check(changedFiles(root, values.since));
while (values.watch) {
  console.log('\nWaiting for a change.');
  const { changed, now } = await nextChange();
  stamps = now;
  // Files whose tests failed are tested again until they pass.
  const { failed } = isGood ? { failed: [] } : await readLastRun(root);
  console.log(
    `\n${changed.slice(0, 5).join(', ')}${changed.length > 5 ? ` and ${changed.length - 5} more` : ''}`,
  );
  isGood = await check([...changed, ...failed]);
}
process.exitCode = isGood ? 0 : 1;

async function check(changed: readonly string[]): Promise<boolean> {
  const beganMs = performance.now();
  const results = await runParts([...tools, ...(await testsOf(changed))], lanes, (result) =>
    console.log(lineOf(result)),
  );
  const failed = results.filter(({ code }) => code !== 0).map(({ title }) => title);
  const outcome = failed.length === 0 ? 'ok    ' : 'FAILED';
  const took = `${((performance.now() - beganMs) / 1000).toFixed(1)} s`.padStart(8);
  console.log(
    `${outcome}  ${'altogether'.padEnd(12)}${took}${failed.length === 0 ? '' : `  ${failed.join(', ')}`}`,
  );
  return failed.length === 0;
}

/** The tests nearest to the change, as one run; each run compiles the code that they start as a separate process. */
async function testsOf(changed: readonly string[]): Promise<Part[]> {
  const files = await sourceFiles(root);
  const { tookMs } = await readLastRun(root);
  const near = nearestTests(changed, files, await readImporters(root, files));
  const { run, left, leftMs } = fitInto(budgetMs, near, tookMs);
  const note =
    left.length === 0
      ? `${run.length} files`
      : `${run.length} files; left to npm test: ${left.length} further off or longer (about ${Math.ceil(leftMs / 60_000)} min)`;
  if (run.length === 0) {
    console.log(`        tests               ${note}`);
    return [];
  }
  return [{ title: 'tests', command: 'vitest', words: ['run', '--project', 'rooms', ...run], note }];
}

/** Waits until files differ from the last check and no more are being written. */
async function nextChange(): Promise<{ changed: string[]; now: Map<string, string> }> {
  let last = stamps;
  for (;;) {
    const now = await readStamps(root);
    const changed = changedBetween(stamps, now);
    if (changed.length > 0 && changedBetween(last, now).length === 0) return { changed, now };
    last = now;
    await wait(quietMs);
  }
}
