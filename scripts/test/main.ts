// Every check of the project, one after the other, closed by what failed and one line that counts them all. With the
// word `long`, what is repeated many times is repeated at full length: hundreds of kills.
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { runTool, runVitest } from './checks.js';
import { installMissingPackages } from './debianPackages.js';
import { addTallies, failureLines, type Tally } from './failures.js';

const reportFolder = await mkdtemp(path.join(tmpdir(), 'stillcount-test-'));
// Tests that speak share what was spoken, within this run.
process.env.STILLCOUNT_TEST_SPOKEN = path.join(reportFolder, 'spoken');
if (process.argv.includes('long')) process.env.STILLCOUNT_TEST_LONG = 'yes';
const tallies: Tally[] = [];
try {
  // Where the database module has to be compiled, that takes one core while everything else that needs no database shares
  // the second.
  const database = runTool('Database module', 'node', ['scripts/setUp.mjs', 'database'], {
    isHeard: false,
  });
  installMissingPackages();
  const types = runTool('Types', 'tsc', []);
  tallies.push(await runTool('Style', 'biome', ['ci', '.']));
  tallies.push(await runTool('Types of what browsers load', 'tsc', ['--project', 'src/browser']));
  tallies.push(await runTool('Types of the service worker', 'tsc', ['--project', 'src/browser/worker']));
  tallies.push(await runTool('Architecture', 'depcruise', ['--config', '.dependency-cruiser.cjs', 'src']));
  tallies.push(await runTool('Unused code', 'knip', ['--no-progress', '--treat-config-hints-as-errors']));
  tallies.push(await types);
  const built = await database;
  tallies.push(built);
  if (built.failures.length === 0) tallies.push(...(await runTests(reportFolder)));
} finally {
  await rm(reportFolder, { recursive: true, force: true });
}

async function runTests(folder: string): Promise<Tally[]> {
  const rooms = await runVitest('Rooms, alone and together', 'rooms', folder);
  const browser = await runVitest('In a browser', 'browser', folder);
  // What waits for a clock takes next to nothing of the cores that the listener needs.
  const waiting = runVitest('By clocks that are set', 'waiting', folder, { isHeard: true });
  const listener = await runVitest('An independent listener', 'listening', folder);
  return [rooms, browser, listener, await waiting];
}

const { passed, skipped, failures } = addTallies(tallies);
if (failures.length > 0) console.log(`\n== What failed\n${failureLines(failures).join('\n')}`);
console.log(`\n${passed} passed, ${failures.length} failed, ${skipped} skipped`);
process.exitCode = failures.length === 0 ? 0 : 1;
