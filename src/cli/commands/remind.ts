import { join } from 'node:path';
import type { Command } from 'commander';
import { inTemporaryFolder } from '../../files/temporaryFolder.js';
import type { Played } from '../../reminders/simulation/play.js';
import { readSettings } from '../../session/settings.js';
import { print, printJson } from '../print.js';
import { printInfo } from '../verbosity.js';

/** `stillcount remind --demo-clock`: two weeks of reminders in seconds. The service sends real reminders on its own. */
export function addRemindCommand(command: Command): void {
  command
    .command('remind')
    .description('print two weeks of reminders for an invented patient; the service sends the real ones')
    .requiredOption('--demo-clock', 'play them in seconds, across a clock change')
    .option('--json', 'print what happens and what is sent as JSON')
    .action(async ({ json }: { json?: true }) => {
      // Loaded here, so that all other commands start without the sending code.
      const { runSimulation } = await import('../../reminders/simulation/play.js');
      const { readMessages, readWarningSigns } = await import('../../session/readClinicWords.js');
      const { openStore } = await import('../../store/engine/openStore.js');
      const { openZoneData } = await import('../../zones/zoneData.js');
      await openZoneData();
      const { templatesFolder } = readSettings(process.env);
      const messages = await readMessages(templatesFolder);
      const warningSigns = await readWarningSigns(templatesFolder);
      await inTemporaryFolder('remind', async (folder) => {
        const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
        try {
          const all: Played[] = [];
          await runSimulation(store, { messages, warningSigns }, (played) => {
            all.push(played);
            if (json !== true) print(asText(played));
          });
          if (json === true) printJson(all);
          const sent = all.filter(({ kind }) => kind === 'message').length;
          if (json !== true) printInfo('', `${sent} messages in two weeks. Nothing left this machine.`);
        } finally {
          await store.close();
        }
      });
    });
}

function asText(played: Played): string {
  const when = `${played.at} ${played.zone}`;
  if (played.kind === 'happening') return `\n=== ${when}  ${played.say}`;
  return `\n--- ${when}, by mail to:\n${played.to}: ${played.subject}\n\n${played.text}\n`;
}
