import type { Command } from 'commander';
import { readSettings } from '../../session/settings.js';
import { backUp, restore } from '../../store/backup.js';
import { storeSettings } from '../../store/settings.js';
import { keepToOwner } from '../keepToOwner.js';

/** `stillcount backup FILE` and `stillcount restore FILE`. */
export function addBackupCommands(command: Command): void {
  const settings = () => storeSettings(process.env, readSettings(process.env).dataFolder);
  command
    .command('backup')
    .argument('<file>', 'where to write it')
    .description('write everything that the service keeps into one file, also while it runs')
    .action(async (file: string) => {
      keepToOwner();
      const rows = await backUp(settings(), file);
      process.stdout.write(`${file}: ${rows} rows, written and read back.\n`);
    });
  command
    .command('restore')
    .argument('<file>', 'a file that backup wrote')
    .description('put a backup into a database that holds nothing yet')
    .action(async (file: string) => {
      keepToOwner();
      const rows = await restore(file, settings());
      process.stdout.write(
        `${rows} rows restored. Everyone signs in anew. Links of listeners work as on the day of the backup: replace those that were ended since. Records that were erased since are in it again: erase them again, by the list of erased records that was kept beside the backup.\n`,
      );
    });
}
