import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { cannotWrite } from '../../files/fileProblem.js';

/**
 * Gives `make` the path of a WAV file to write, in a fresh folder that is removed afterwards, and returns what it
 * then holds: no bytes when nothing was written.
 *
 * @throws StillcountError kind `work` when there is no room for temporary files; whatever `make` throws.
 */
export async function withWaveFile(make: (path: string) => Promise<unknown>): Promise<Uint8Array> {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-voice-')).catch((error: unknown) => {
    throw cannotWrite(tmpdir(), error);
  });
  try {
    const path = join(folder, 'speech.wav');
    await make(path);
    return await readFile(path).catch(() => new Uint8Array());
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}
