#!/usr/bin/env node
import { endOnCrash } from './crash.js';
import { runCommand } from './runCommand.js';
import { hearSignals, outlivesItsReader } from './signals.js';

hearSignals();
endOnCrash();
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (outlivesItsReader()) return;
  // A reader that has seen enough, such as `head`, is no fault.
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});
// Where what went wrong cannot be said there is no one to say it to.
process.stderr.on('error', () => undefined);

process.exitCode = await runCommand(process.argv.slice(2));
