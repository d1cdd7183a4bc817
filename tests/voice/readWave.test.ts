import { type BitDepth, encodeWaveFromFloat32Channels, SampleFormat } from '@echogarden/wave-codec';
import { describe, expect, it } from 'vitest';
import { readWave } from '../../src/voice/readWave.js';

const left = Float32Array.from({ length: 800 }, (_, at) => 0.5 * Math.sin(at * 0.1));
const right = Float32Array.from({ length: 800 }, (_, at) => 0.25 * Math.cos(at * 0.05));

function wave(channels: Float32Array[], bits: BitDepth = 16, format = SampleFormat.PCM): Buffer {
  return Buffer.from(encodeWaveFromFloat32Channels(channels, 22_050, bits, format));
}

function largestDifference(a: Float32Array, b: Float32Array): number {
  expect(a.length).toBe(b.length);
  return a.reduce((most, sample, at) => Math.max(most, Math.abs(sample - (b[at] ?? 9))), 0);
}

describe('reading a WAV file', () => {
  it.each([
    [8, SampleFormat.PCM, 0.01],
    [16, SampleFormat.PCM, 0.0001],
    [24, SampleFormat.PCM, 0.000001],
    [32, SampleFormat.PCM, 0.000001],
    [32, SampleFormat.Float, 0],
    [64, SampleFormat.Float, 0],
  ] as const)('reads %i bits of format %i', (bits, format, tolerance) => {
    const speech = readWave(wave([left], bits, format), 'It');
    expect(speech.sampleRateHz).toBe(22_050);
    expect(largestDifference(speech.samples, left)).toBeLessThanOrEqual(tolerance);
  });

  it('averages channels', () => {
    const middle = left.map((sample, at) => (sample + (right[at] ?? 0)) / 2);
    const speech = readWave(wave([left, right], 32, SampleFormat.Float), 'It');
    expect(largestDifference(speech.samples, middle)).toBeLessThan(1e-7);
  });

  it.each([0xffffffff, 0x7fffffff, 0x7ffff000, 0])(
    'reads to the end when a stream states a length of %i',
    (stated) => {
      const file = wave([left]);
      file.writeUInt32LE(stated, 4);
      file.writeUInt32LE(stated, 40);
      expect(readWave(file, 'It').samples.length).toBe(800);
    },
  );

  it('leaves out half a sample at a cut end', () => {
    expect(readWave(wave([left]).subarray(0, 44 + 101), 'It').samples.length).toBe(50);
  });

  it('passes over other chunks, also of odd length, before and after the sound', () => {
    const file = wave([left]);
    const odd = Buffer.concat([Buffer.from('LIST\x05\0\0\0words\0', 'latin1')]);
    const both = Buffer.concat([file.subarray(0, 12), odd, file.subarray(12), odd]);
    both.writeUInt32LE(both.length - 8, 4);
    expect(readWave(both, 'It').samples.length).toBe(800);
  });

  it.each([
    ['nothing', Buffer.alloc(0)],
    ['text', Buffer.from('this is not a sound file at all, but it is long enough to look like one')],
    ['a format nobody knows', Buffer.from(wave([left])).fill(0x77, 20, 22)],
    ['no data', wave([left]).subarray(0, 36)],
  ])('refuses %s in words that name the origin', (_, bytes) => {
    expect(() => readWave(bytes, 'The voice program X')).toThrow(/The voice program X gave no usable speech/);
  });
});
