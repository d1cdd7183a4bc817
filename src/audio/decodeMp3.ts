import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { runFfmpeg } from '../ffmpeg/runFfmpeg.js';
import { sampleRateHz } from './sound.js';

/**
 * What a listener hears of an MP3 file: mono samples from -1 to 1 at 24 kHz, the codec's delay and
 * padding dropped at both ends as the file asks.
 *
 * @throws StillcountError kind `work` when ffmpeg cannot read it.
 */
export async function decodeMp3(bytes: Uint8Array): Promise<Float32Array> {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-decode-'));
  try {
    const filePath = join(folder, 'session.mp3');
    await writeFile(filePath, bytes);
    const pcm = await runFfmpeg({
      input: { filePath },
      inputOptions: ['-f', 'mp3'],
      outputOptions: ['-map', '0:a:0', '-f', 'f32le', '-ac', '1', '-ar', String(sampleRateHz)],
    });
    return new Float32Array(pcm.buffer.slice(pcm.byteOffset, pcm.byteOffset + pcm.length - (pcm.length % 4)));
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}
