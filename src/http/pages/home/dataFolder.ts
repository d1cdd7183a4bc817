import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { writeWhole } from '../../../files/wholeFile.js';
import { keptBackups } from '../../../store/service/dailyBackup.js';
import type { Pages } from '../../templates/render.js';

/**
 * Leaves a text in the data folder that says what its files are, and that a copy of them is no backup.
 *
 * @param backupFolder where the daily backups are; null when none are made
 * @throws StillcountError kind `work` when it cannot be written
 */
export async function writeFolderNote(
  pages: Pages,
  dataFolder: string,
  backupFolder: string | null,
): Promise<void> {
  const file = join(dataFolder, 'README.txt');
  const text = pages.part('data-folder', { folder: backupFolder, kept: keptBackups });
  if ((await readFile(file, 'utf8').catch(() => '')) !== text) await writeWhole(file, text);
}
