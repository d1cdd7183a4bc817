import { buffer } from 'node:stream/consumers';
import type { Command } from 'commander';
import { leaveReturnedMail } from '../../reminders/returnedMail.js';
import { readSettings } from '../../session/settings.js';
import { keepToOwner } from '../keepToOwner.js';

/** `stillcount returned-mail`: a mail server hands over what came back, on standard input. */
export function addReturnedMailCommand(command: Command): void {
  command
    .command('returned-mail')
    .description('take a mail that came back, on standard input, and leave a note of it for the service')
    .action(async () => {
      keepToOwner();
      const { dataFolder } = readSettings(process.env);
      const isOurs = await leaveReturnedMail(dataFolder, await buffer(process.stdin));
      process.stdout.write(
        isOurs ? 'Noted.\n' : 'This is no notice of a message of ours: nothing was noted.\n',
      );
    });
}
