// Every check of the project, closed by how long each part took, what failed, and one line that counts them all. With the
// word `long`, what is shortened otherwise runs whole; with `--since COMMIT`, what guards something that has changed since.
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { type How, runTool, runVitest } from './checks.js';
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
const times = new PartTimes();
let tallies: Tally[] = [];
try {
  tallies = await runAll(reportFolder);
} finally {
  await rm(reportFolder, { recursive: true, force: true });
}

/**
 * All that there is, so that two cores never stand idle. What must be fetched or compiled on a new machine is begun at
 * once, with the tools and with the listener, who needs no database: what is spoken for it serves the rooms. The rooms
 * keep both cores busy; what is played in a browser, in real time, leaves some of them to what waits for a clock.
 */
async function runAll(folder: string): Promise<Tally[]> {
  const part = (title: string, project: string, how: How = {}) =>
    times.take(title, runVitest(title, project, folder, how));
  const database = times.take('  database module', buildDatabase());
  const tools = times.take('Tools', runTools());
  await times.take('  packages of Debian', installMissingPackages());
  const listener = await part('An independent listener', 'listening', { isAside: true });
  const first = [...(await tools), listener];
  const built = await database;
  if (built.failures.length > 0) return [built, ...first];
  const rooms = await part('Rooms, alone and together', 'rooms');
  const waiting = part('By clocks that are set', 'waiting', { isAside: true });
  const browser = await part('In a browser', 'browser');
  return [built, ...first, rooms, browser, await waiting];
}

function buildDatabase(): Promise<Tally> {
  return runTool('Database module', 'node', ['scripts/setUp.mjs', 'database'], {});
}

/** In two lanes of about the same length: the types of the service take as long as all other tools. */
async function runTools(): Promise<Tally[]> {
  const types = runTool('Types', 'tsc', []);
  const others: Tally[] = [];
  others.push(await runTool('Style', 'biome', ['ci', '.']));
  others.push(await runTool('Types of what browsers load', 'tsc', ['--project', 'src/browser']));
  others.push(await runTool('Types of the service worker', 'tsc', ['--project', 'src/browser/worker']));
  others.push(await runTool('Architecture', 'depcruise', ['--config', '.dependency-cruiser.cjs', 'src']));
  others.push(await runTool('Unused code', 'knip', ['--no-progress', '--treat-config-hints-as-errors']));
  return [...others, await types];
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
