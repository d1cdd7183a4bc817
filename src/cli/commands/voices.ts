import type { Command } from 'commander';
import { print, printJson } from '../print.js';
import { withTiming } from '../verbosity.js';

export function addVoicesCommand(command: Command): void {
  command
    .command('voices')
    .description('list the voices and whether this machine has them')
    .option('--json', 'print as JSON')
    .action(async (options: { json?: boolean }) => {
      // Loaded here, so that all other commands start without the voices.
      const { listVoices } = await import('../../voice/openVoice.js');
      const voices = await withTiming('ask for the voices', listVoices);
      if (options.json === true) {
        printJson(voices);
        return;
      }
      const width = Math.max(...voices.map(({ id }) => id.length));
      print(
        ...voices.map(({ id, description, available, why }) => {
          const state = available ? 'ready' : `not here: ${(why ?? 'unknown').replaceAll(/\s*\n\s*/g, '; ')}`;
          return `${id.padEnd(width)}  ${description} (${state})`;
        }),
      );
    });
}
