#!/usr/bin/env node
import { exitOnCrash } from './crash.js';
import { runCommand } from './runCommand.js';
import { handleSignals, survivesClosedOutput } from './signals.js';

handleSignals();
exitOnCrash();
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (survivesClosedOutput()) return;
  // A reader that closes the pipe early, such as `head`, is not an error.
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});
// If the error output itself fails, there is nobody left to tell.
process.stderr.on('error', () => undefined);

process.exitCode = await runCommand(process.argv.slice(2));
