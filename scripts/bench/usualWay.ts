/** Renders the same session in the two usual ways, for comparison. */
import { execFile } from 'node:child_process';
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import type { PlacedSound } from '../../src/audio/sound.js';
import { findFfmpeg } from '../../src/ffmpeg/findFfmpeg.js';
import { runFfmpeg } from '../../src/ffmpeg/runFfmpeg.js';
import { sampleRateHz, samplesPerMs } from '../../src/signal/sampleRate.js';

const rawInput = ['-f', 's16le', '-ar', String(sampleRateHz), '-ac', '1'];

function toPcm(samples: Float32Array): Buffer {
  const pcm = Buffer.alloc(samples.length * 2);
  samples.forEach((sample, i) => {
    pcm.writeInt16LE(Math.max(-32_768, Math.min(32_767, Math.round(sample * 32_768))), i * 2);
  });
  return pcm;
}

/** Mixes all sounds of a session. */
export async function wholePcm(sounds: readonly PlacedSound[], durationMs: number): Promise<Buffer> {
  const mixed = new Float32Array(durationMs * samplesPerMs);
  for (const sound of sounds) {
    const samples = await sound.samples();
    for (let i = 0; i < samples.length; i += 1) {
      mixed[sound.startSample + i] = (mixed[sound.startSample + i] ?? 0) + (samples[i] ?? 0);
    }
  }
  return toPcm(mixed);
}

/** Encodes the whole session at variable rate, quality 5, with LAME's own settings otherwise. */
export function encodeWhole(pcm: Buffer): Promise<Buffer> {
  return runFfmpeg({
    input: pcm,
    inputOptions: rawInput,
    outputOptions: ['-c:a', 'libmp3lame', '-q:a', '5', '-f', 'mp3', '-id3v2_version', '0'],
  });
}

/** Writes the clips as files and returns the job: one ffmpeg that delays each clip and mixes all (adelay, amix). */
export async function delayAndMix(
  sounds: readonly PlacedSound[],
  folder: string,
): Promise<() => Promise<unknown>> {
  await mkdir(folder, { recursive: true });
  const pathByKey = new Map<string, string>();
  for (const sound of sounds) {
    if (pathByKey.has(sound.key)) continue;
    const path = join(folder, `clip-${pathByKey.size}.pcm`);
    await writeFile(path, toPcm(await sound.samples()));
    pathByKey.set(sound.key, path);
  }
  const inputs = sounds.flatMap((sound) => [...rawInput, '-i', pathByKey.get(sound.key) ?? '']);
  const delays = sounds.map((sound, i) => `[${i}]adelay=${sound.startSample / samplesPerMs}[d${i}]`);
  const all = sounds.map((_, i) => `[d${i}]`).join('');
  const mix = `${all}amix=inputs=${sounds.length}:dropout_transition=0[mix]`;
  const filterPath = join(folder, 'filter.txt');
  await writeFile(filterPath, [...delays, mix].join(';'));
  const { path } = await findFfmpeg();
  const output = ['-map', '[mix]', '-c:a', 'libmp3lame', '-q:a', '5', '-y', join(folder, 'mixed.mp3')];
  const options = ['-v', 'error', '-nostdin', ...inputs, '-filter_complex_script', filterPath, ...output];
  return () => promisify(execFile)(path, options);
}
