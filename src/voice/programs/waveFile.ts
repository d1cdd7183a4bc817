import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { inTemporaryFolder } from '../../files/temporaryFolder.js';

/**
 * Passes `make` the path of a WAV file to write, in a new folder that is removed afterward, and returns the file's
 * contents: no bytes when nothing was written.
 *
 * @throws StillcountError kind `work` when a temporary file cannot be written; also anything that `make` throws
 */
export async function withWaveFile(make: (path: string) => Promise<unknown>): Promise<Uint8Array> {
  return inTemporaryFolder('voice', async (folder) => {
    const path = join(folder, 'speech.wav');
    await make(path);
    return readFile(path).catch(() => new Uint8Array());
  });
}
