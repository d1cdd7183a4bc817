import { createWriteStream } from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import type { Command } from 'commander';
import { inTemporaryFolder } from '../../files/temporaryFolder.js';
import { readSettings } from '../../session/settings.js';
import { standardInput } from '../../session/standardInput.js';
import { storeSettings } from '../../store/service/settings.js';
import { print, printJson } from '../print.js';
import { showActivity } from '../progress.js';
import { forceOption, refuseExisting } from '../targets.js';
import { printInfo, withTiming } from '../verbosity.js';

/** `stillcount backup FILE` and `stillcount restore FILE`. */
export function addBackupCommands(command: Command): void {
  const settings = () => storeSettings(process.env, readSettings(process.env).dataFolder);
  command
    .command('backup')
    .argument('<file>', 'file to write')
    .description('back up everything the service stores to one file, even while it runs')
    .option(...forceOption)
    .option('--json', 'print what was written as JSON')
    .action(async (file: string, { force, json }: { force?: boolean; json?: boolean }) => {
      await refuseExisting([file], force === true);
      // Loaded here and below, so that all other commands start without the database code.
      const { backUp } = await import('../../store/service/backup.js');
      const rows = await withTiming('write the backup and read it back', () =>
        showActivity(
          () => 'Writing the backup and reading it back',
          () => backUp(settings(), file),
        ),
      );
      if (json === true) printJson({ file, rows });
      else printInfo(`${file}: ${rows} rows, written and read back.`);
    });
  command
    .command('restore')
    .argument('<file>', 'file written by the backup command; - reads standard input')
    .description('restore a backup into an empty database')
    .option('--json', 'print what was restored as JSON')
    .action(async (file: string, { json }: { json?: boolean }) => {
      const { restore } = await import('../../store/service/backup.js');
      const rows = await withTiming('restore', () =>
        showActivity(
          () => 'Restoring',
          () =>
            file === standardInput
              ? fromStandardInput((backupFile) => restore(backupFile, settings()))
              : restore(file, settings()),
        ),
      );
      if (json === true) return printJson({ rows });
      printInfo(`${rows} rows restored.`);
      print(
        'Everyone must sign in again. Listening links work as they did on the day of the backup: replace any that were ended since then. Records erased since then are back: erase them again, using the list of erased records kept with the backup.',
      );
    });
}

/** Copies standard input to a file, because a backup is read twice, first to check that it is complete. */
function fromStandardInput<Result>(use: (file: string) => Promise<Result>): Promise<Result> {
  return inTemporaryFolder('restore', async (folder) => {
    const file = join(folder, 'backup');
    await pipeline(process.stdin, createWriteStream(file));
    return use(file);
  });
}
