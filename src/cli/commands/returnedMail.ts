import { buffer } from 'node:stream/consumers';
import type { Command } from 'commander';
import { readSettings } from '../../session/settings.js';
import { printJson } from '../print.js';
import { printInfo } from '../verbosity.js';

/** `stillcount returned-mail`: takes a bounced email from a mail server on standard input. */
export function addReturnedMailCommand(command: Command): void {
  command
    .command('returned-mail')
    .description('record a bounced email for the service, read from standard input')
    .option('--json', 'print as JSON whether it was recorded')
    .action(async ({ json }: { json?: boolean }) => {
      // Loaded here, so that all other commands start without the mail and database code.
      const { queueReturnedMail } = await import('../../reminders/returnedMail.js');
      const { dataFolder } = readSettings(process.env);
      const isOurs = await queueReturnedMail(dataFolder, await buffer(process.stdin));
      if (json === true) printJson({ noted: isOurs });
      else
        printInfo(
          isOurs ? 'Recorded.' : 'This is not a bounce of one of our messages; nothing was recorded.',
        );
    });
}
