import { join } from 'node:path';
import type { Command } from 'commander';
import { inTemporaryFolder } from '../../files/temporaryFolder.js';
import { readMessages, readWarningSigns } from '../../session/readClinicWords.js';
import { readSettings } from '../../session/settings.js';
import { openStore } from '../../store/openStore.js';
import { openZoneData } from '../../zones/zoneData.js';
import { print } from '../print.js';
import { tell } from '../told.js';

/** `stillcount remind --demo-clock`: two weeks of reminders in seconds. The service sends its own by itself. */
export function addRemindCommand(command: Command): void {
  command
    .command('remind')
    .description('print two weeks of reminders of an invented patient; the real ones are sent by the service')
    .requiredOption('--demo-clock', 'play them in seconds, across a clock change')
    .action(async () => {
      // Loaded here, so that every other command starts without what sends.
      const { playFortnight } = await import('../../reminders/fortnight/play.js');
      await openZoneData();
      const { templatesFolder } = readSettings(process.env);
      const messages = await readMessages(templatesFolder);
      const warningSigns = await readWarningSigns(templatesFolder);
      await inTemporaryFolder('remind', async (folder) => {
        const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
        try {
          const sent = await playFortnight(store, { messages, warningSigns }, print);
          tell('', `${sent} messages in two weeks. Nothing left this machine.`);
        } finally {
          await store.close();
        }
      });
    });
}
