import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { isEncoderFault } from '../ffmpeg/encoderFault.js';
import { findFfmpeg } from '../ffmpeg/findFfmpeg.js';
import { runFfmpeg } from '../ffmpeg/runFfmpeg.js';
import { cannotWrite } from '../files/fileProblem.js';
import { inTemporaryFolder } from '../files/temporaryFolder.js';
import { sampleRateHz } from '../signal/sampleRate.js';

/**
 * Decodes an MP3 file to what a listener hears: mono samples from -1 to 1 at 24 kHz, without the codec's delay and
 * padding at both ends, as the file's seek header states them.
 *
 * @throws StillcountError kind `work` when ffmpeg cannot read the file, or when no temporary file can be written for
 *   ffmpeg
 */
export async function decodeMp3(bytes: Uint8Array): Promise<Float32Array> {
  return atFilePath(bytes, decodeFile);
}

/** Like {@link decodeMp3}, but returns null when the file is at fault: ffmpeg runs and finds no sound in it. */
export async function decodeMp3OrNull(bytes: Uint8Array): Promise<Float32Array | null> {
  await findFfmpeg();
  return atFilePath(bytes, async (filePath) => {
    try {
      const samples = await decodeFile(filePath);
      return samples.length === 0 ? null : samples;
    } catch (error) {
      // An encoder that was killed or hangs tells nothing about the file.
      if (isEncoderFault(error, 'refused')) return null;
      throw error;
    }
  });
}

async function decodeFile(filePath: string): Promise<Float32Array> {
  const pcm = await runFfmpeg({
    input: { filePath },
    inputOptions: ['-f', 'mp3'],
    outputOptions: ['-map', '0:a:0', '-f', 'f32le', '-ac', '1', '-ar', String(sampleRateHz)],
  });
  return new Float32Array(pcm.buffer.slice(pcm.byteOffset, pcm.byteOffset + pcm.length - (pcm.length % 4)));
}

/** Writes the bytes to a temporary file, because from a pipe ffmpeg does not remove the padding at the end. */
async function atFilePath<Result>(
  bytes: Uint8Array,
  use: (filePath: string) => Promise<Result>,
): Promise<Result> {
  return inTemporaryFolder('decode', async (folder) => {
    const filePath = join(folder, 'session.mp3');
    await writeFile(filePath, bytes).catch((error: unknown) => {
      throw cannotWrite(filePath, error);
    });
    return use(filePath);
  });
}
