#!/usr/bin/env node
import { exitOnCrash } from './crash.js';
import { runCommand } from './runCommand.js';
import { handleSignals, survivesClosedOutput } from './signals.js';

handleSignals();
exitOnCrash();
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (survivesClosedOutput()) return;
  // A reader that has seen enough, such as `head`, is no fault.
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});
// Where what went wrong cannot be said there is no one to say it to.
process.stderr.on('error', () => undefined);

process.exitCode = await runCommand(process.argv.slice(2));
