import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { writeWhole } from '../../../files/wholeFile.js';
import { keptBackups } from '../../../store/service/dailyBackup.js';
import type { Pages } from '../../templates/render.js';

/**
 * Writes a text into the data folder that explains its files, and that a copy of them is not a backup.
 *
 * @param backupFolder the folder of the daily backups; null if none are made
 * @throws StillcountError kind `work` if it cannot be written
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
