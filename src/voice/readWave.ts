import { decodeWaveToFloat32Channels } from '@echogarden/wave-codec';
import { workError } from '../errors/stillcountError.js';
import type { RawSpeech } from './voice.js';

/**
 * Reads a WAV file (RIFF/WAVE, Microsoft and IBM 1991; any sample format) as mono speech; channels are averaged.
 *
 * A program that writes to a pipe cannot go back to fill in a length, so a length of 0, or one beyond the end of the
 * file, means "up to the end" here.
 *
 * @param from names the origin in an error, for example a program
 * @throws StillcountError kind `work` when the bytes are not a WAV file or contain no sound
 */
export function readWave(bytes: Uint8Array, from: string): RawSpeech {
  if (bytes.length === 0) throw unusable(from, 'nothing at all');
  try {
    const { audioChannels, sampleRate } = decodeWaveToFloat32Channels(withTrueLengths(bytes));
    return { sampleRateHz: sampleRate, samples: averaged(audioChannels) };
  } catch (error) {
    throw unusable(from, `${bytes.length} bytes that are not a sound WAV file`, error);
  }
}

function unusable(from: string, found: string, cause?: unknown) {
  return workError({ message: `${from} gave no usable speech.`, found, allowed: 'a WAV file' }, cause);
}

/** Returns the same sound with only its format and data chunks, both with their actual lengths. */
function withTrueLengths(bytes: Uint8Array): Uint8Array {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (file.toString('latin1', 0, 4) !== 'RIFF' || file.toString('latin1', 8, 12) !== 'WAVE') {
    throw new Error('no RIFF/WAVE header');
  }
  const riffLength = file.readUInt32LE(4);
  const streamed = riffLength === 0 || riffLength > file.length - 8;
  let format: Buffer | undefined;
  for (let at = 12; at + 8 <= file.length; ) {
    const name = file.toString('latin1', at, at + 4);
    const stated = file.readUInt32LE(at + 4);
    const rest = file.length - at - 8;
    if (name === 'fmt ') format = file.subarray(at + 8, at + 8 + stated);
    if (name === 'data') {
      if (format === undefined || format.length < 16) throw new Error('no format before the data');
      const frameBytes = Math.max(1, format.readUInt16LE(12));
      const length = stated > rest || (stated === 0 && streamed) ? rest : stated;
      const data = file.subarray(at + 8, at + 8 + length - (length % frameBytes));
      return riff([chunk('fmt ', format), chunk('data', data)]);
    }
    // Chunks are padded to an even length (RIFF, chunk layout).
    at += 8 + stated + (stated % 2);
  }
  throw new Error('no data');
}

function chunk(name: string, body: Buffer): Buffer {
  const head = Buffer.alloc(8);
  head.write(name, 'latin1');
  head.writeUInt32LE(body.length, 4);
  return Buffer.concat([head, body]);
}

function riff(chunks: readonly Buffer[]): Buffer {
  return chunk('RIFF', Buffer.concat([Buffer.from('WAVE', 'latin1'), ...chunks]));
}

function averaged(channels: readonly Float32Array[]): Float32Array {
  const [first, ...others] = channels;
  if (first === undefined) throw new Error('no channel');
  if (others.length === 0) return first;
  return first.map((sample, at) => {
    const sum = others.reduce((total, channel) => total + (channel[at] ?? 0), sample);
    return sum / channels.length;
  });
}
