import { randomUUID } from 'node:crypto';
import { chown, mkdir, readdir, readFile, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { StillcountError } from '../errors/stillcountError.js';
import { cannotWrite, errorCodeOf } from './fileProblem.js';
import { writeWhole } from './wholeFile.js';

/**
 * Leaves a note for the service in a folder of the data folder. The service may run as a different user, so the note is
 * given to the owner of the data folder.
 *
 * @throws StillcountError kind `work` when it cannot be written, or its owner cannot be set
 */
export async function leaveNote(dataFolder: string, folderName: string, note: object): Promise<void> {
  const folder = join(dataFolder, folderName);
  const file = join(folder, `${randomUUID()}.json`);
  try {
    await mkdir(folder, { recursive: true, mode: 0o700 });
    await writeWhole(file, JSON.stringify(note));
    const { uid, gid } = await stat(dataFolder);
    if (process.getuid === undefined || process.getuid() === uid) return;
    for (const each of [file, folder]) await chown(each, uid, gid);
  } catch (error) {
    await rm(file, { force: true });
    throw error instanceof StillcountError ? error : cannotWrite(file, error);
  }
}

/**
 * Processes the notes in a folder and deletes each one when it is done. A note that cannot be read or used now stays
 * for the next time, and does not hold up the others.
 *
 * @param use called with the text of each note; an empty note is deleted like one that was used
 * @param onFailure called for each note that stays
 * @returns how many notes were deleted
 */
export async function takeNotes(
  folder: string,
  use: (text: string) => Promise<void>,
  onFailure: (error: unknown) => void,
): Promise<number> {
  let taken = 0;
  for (const name of await namesIn(folder)) {
    const file = join(folder, name);
    try {
      const text = await textOf(file);
      if (text === null) continue;
      await use(text);
      await rm(file, { force: true, recursive: true });
      taken += 1;
    } catch (error) {
      onFailure(error);
    }
  }
  return taken;
}

async function namesIn(folder: string): Promise<string[]> {
  try {
    return (await readdir(folder)).filter((name) => name.endsWith('.json'));
  } catch (error) {
    // Nothing has been left yet.
    if (errorCodeOf(error) === 'ENOENT') return [];
    throw error;
  }
}

/**
 * Returns a note's text; null if it no longer exists; empty for a folder. Any other error may not recur the next time.
 */
async function textOf(file: string): Promise<string | null> {
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    if (errorCodeOf(error) === 'ENOENT') return null;
    if (errorCodeOf(error) === 'EISDIR') return '';
    throw error;
  }
}
