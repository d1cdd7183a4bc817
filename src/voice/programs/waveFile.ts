import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { inTemporaryFolder } from '../../files/temporaryFolder.js';

/**
 * Gives `make` the path of a WAV file to write, in a fresh folder that is removed afterwards, and returns what it
 * then holds: no bytes when nothing was written.
 *
 * @throws StillcountError kind `work` when there is no room for temporary files; whatever `make` throws.
 */
export async function withWaveFile(make: (path: string) => Promise<unknown>): Promise<Uint8Array> {
  return inTemporaryFolder('voice', async (folder) => {
    const path = join(folder, 'speech.wav');
    await make(path);
    return readFile(path).catch(() => new Uint8Array());
  });
}
