import { randomUUID } from 'node:crypto';
import { chown, mkdir, readdir, readFile, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { StillcountError } from '../errors/stillcountError.js';
import { cannotWrite, errorCodeOf } from './fileProblem.js';
import { writeWhole } from './wholeFile.js';

/**
 * Leaves a note in a folder of the data folder for the service, which may run as another user than whoever leaves it:
 * what is left belongs to the owner of the data folder.
 *
 * @throws StillcountError kind `work` when it cannot be written, or not be handed over
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
 * Takes in what was left in a folder, and takes each note away once it is done with. One that cannot be read or used
 * now stays for the next time, and holds up no other.
 *
 * @param use given the text of each; one that holds nothing is taken away like one that was used
 * @param onFailure told of each that stays
 * @returns how many were taken away
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
    // No one has left anything yet.
    if (errorCodeOf(error) === 'ENOENT') return [];
    throw error;
  }
}

/** Null for what is there no more; a folder holds no text. Whatever else goes wrong may go well the next time. */
async function textOf(file: string): Promise<string | null> {
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    if (errorCodeOf(error) === 'ENOENT') return null;
    if (errorCodeOf(error) === 'EISDIR') return '';
    throw error;
  }
}
