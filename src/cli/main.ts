#!/usr/bin/env node
import { runCommand } from './runCommand.js';

// A reader that has seen enough, such as `head`, is no fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});
// Leaving through exit lets partial files be removed; 130 is the shell's number for an interrupt.
process.once('SIGINT', () => process.exit(130));
process.once('SIGTERM', () => process.exit(143));
process.once('SIGHUP', () => process.exit(129));

process.exitCode = await runCommand(process.argv.slice(2));
