// Every check of the project, closed by how long each part took, what failed, and one line that counts them all. With the
// word `long`, what is shortened otherwise runs whole; with `--since COMMIT`, what guards something that has changed since.
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { runTool, runVitest } from './checks.js';
import { installMissingPackages } from './debianPackages.js';
import { addTallies, failureLines, type Tally } from './failures.js';
import { PartTimes } from './partTimes.js';
import { changedSince, checksThatGuard, wholeSetting } from './wholeChecks.js';

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { since: { type: 'string' } },
});
if (positionals.includes('long')) process.env[wholeSetting] = 'yes';
else if (values.since !== undefined) wantWhatGuardsChanges(values.since);
const reportFolder = await mkdtemp(path.join(tmpdir(), 'stillcount-test-'));
// Tests that speak share what was spoken, within this run.
process.env.STILLCOUNT_TEST_SPOKEN = path.join(reportFolder, 'spoken');
const tallies: Tally[] = [];
const times = new PartTimes();
try {
  const built = await times.take('Tools', runTools());
  tallies.push(...built.tallies);
  if (built.hasDatabase) tallies.push(...(await runTests(reportFolder)));
} finally {
  await rm(reportFolder, { recursive: true, force: true });
}

/**
 * Two lanes of about the same length on two cores: the types of the service take as long as all other tools. Where the
 * database module has to be compiled, and packages are fetched, that goes on beside them.
 */
async function runTools(): Promise<{ tallies: Tally[]; hasDatabase: boolean }> {
  const options = { isHeard: false };
  const database = runTool('Database module', 'node', ['scripts/setUp.mjs', 'database'], options);
  const packages = times.take('  packages of Debian', installMissingPackages());
  const types = runTool('Types', 'tsc', []);
  const others: Tally[] = [];
  others.push(await runTool('Style', 'biome', ['ci', '.']));
  others.push(await runTool('Types of what browsers load', 'tsc', ['--project', 'src/browser']));
  others.push(await runTool('Types of the service worker', 'tsc', ['--project', 'src/browser/worker']));
  others.push(await runTool('Architecture', 'depcruise', ['--config', '.dependency-cruiser.cjs', 'src']));
  others.push(await runTool('Unused code', 'knip', ['--no-progress', '--treat-config-hints-as-errors']));
  await packages;
  const built = await database;
  return { tallies: [...others, await types, built], hasDatabase: built.failures.length === 0 };
}

/** Whatever uses both cores by itself stands alone. */
async function runTests(folder: string): Promise<Tally[]> {
  const part = (title: string, project: string, isHeard = false) =>
    times.take(title, runVitest(title, project, folder, { isHeard }));
  const rooms = await part('Rooms, alone and together', 'rooms');
  const browser = await part('In a browser', 'browser');
  // What waits for a clock takes next to nothing of the cores that the listener needs.
  const waiting = part('By clocks that are set', 'waiting', true);
  const listener = await part('An independent listener', 'listening');
  return [rooms, browser, listener, await waiting];
}

function wantWhatGuardsChanges(commit: string): void {
  const changed = changedSince(commit);
  if (changed === null) {
    console.log(`What has changed since ${commit} is not known here: nothing runs at full length.`);
    return;
  }
  const names = checksThatGuard(changed);
  process.env[wholeSetting] = names.join(',');
  console.log(`At full length, for what has changed since ${commit}: ${names.join(', ') || 'nothing'}`);
}

const { passed, skipped, failures } = addTallies(tallies);
console.log(`\n== How long it took\n${times.lines().join('\n')}`);
if (failures.length > 0) console.log(`\n== What failed\n${failureLines(failures).join('\n')}`);
console.log(`\n${passed} passed, ${failures.length} failed, ${skipped} skipped`);
process.exitCode = failures.length === 0 ? 0 : 1;
