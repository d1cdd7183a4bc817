import { buffer } from 'node:stream/consumers';
import type { Command } from 'commander';
import { readSettings } from '../../session/settings.js';
import { printJson } from '../print.js';
import { tell } from '../told.js';

/** `stillcount returned-mail`: a mail server hands over what came back, on standard input. */
export function addReturnedMailCommand(command: Command): void {
  command
    .command('returned-mail')
    .description('record a bounced email for the service, read from standard input')
    .option('--json', 'print as JSON whether it was recorded')
    .action(async ({ json }: { json?: boolean }) => {
      // Loaded here, so that every other command starts without what reads mail and a database.
      const { leaveReturnedMail } = await import('../../reminders/returnedMail.js');
      const { dataFolder } = readSettings(process.env);
      const isOurs = await leaveReturnedMail(dataFolder, await buffer(process.stdin));
      if (json === true) printJson({ noted: isOurs });
      else tell(isOurs ? 'Noted.' : 'This is no notice of a message of ours: nothing was noted.');
    });
}
