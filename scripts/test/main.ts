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
  installMissingPackages();
  // The longest takes one core while the others share the second.
  const types = runTool('Types', 'tsc', []);
  tallies.push(await runTool('Style', 'biome', ['ci', '.']));
  tallies.push(await runTool('Types of what browsers load', 'tsc', ['--project', 'src/web/client']));
  tallies.push(await runTool('Types of the service worker', 'tsc', ['--project', 'src/web/client/worker']));
  tallies.push(await runTool('Architecture', 'depcruise', ['--config', '.dependency-cruiser.cjs', 'src']));
  tallies.push(await types);
  tallies.push(await runVitest('Rooms, alone and together', 'rooms', reportFolder));
  tallies.push(await runVitest('In a browser', 'browser', reportFolder));
  // What waits for a clock takes next to nothing of the cores that the listener needs.
  const waiting = runVitest('By clocks that are set', 'waiting', reportFolder, { isHeard: true });
  tallies.push(await runVitest('An independent listener', 'listening', reportFolder));
  tallies.push(await waiting);
} finally {
  await rm(reportFolder, { recursive: true, force: true });
}

const { passed, skipped, failures } = addTallies(tallies);
if (failures.length > 0) console.log(`\n== What failed\n${failureLines(failures).join('\n')}`);
console.log(`\n${passed} passed, ${failures.length} failed, ${skipped} skipped`);
process.exitCode = failures.length === 0 ? 0 : 1;
