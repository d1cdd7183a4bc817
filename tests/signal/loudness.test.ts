import { describe, expect, it } from 'vitest';
import { runFfmpegWithLog } from '../../src/ffmpeg/runFfmpeg.js';
import { kWeightingSections } from '../../src/signal/kWeighting.js';
import {
  integratedLoudness,
  integratedLoudnessOfChannels,
  slidingLoudness,
} from '../../src/signal/loudness.js';

type Part = { peakDbfs: number; seconds: number };

/** A 1 kHz sine without a break in phase, stepping through the levels (signals of EBU Tech 3341, own synthesis). */
function steppedSine(parts: readonly Part[], sampleRateHz: number, frequencyHz = 1000): Float32Array {
  const lengths = parts.map((part) => Math.round(part.seconds * sampleRateHz));
  const samples = new Float32Array(lengths.reduce((sum, length) => sum + length, 0));
  let at = 0;
  parts.forEach((part, index) => {
    const amplitude = 10 ** (part.peakDbfs / 20);
    for (let i = 0; i < (lengths[index] ?? 0); i += 1, at += 1) {
      samples[at] = amplitude * Math.sin((2 * Math.PI * frequencyHz * at) / sampleRateHz);
    }
  });
  return samples;
}

const repeated = (times: number, parts: readonly Part[]): Part[] =>
  Array.from({ length: times }, () => parts).flat();
const part = (peakDbfs: number, seconds: number): Part => ({ peakDbfs, seconds });

describe('K-weighting', () => {
  // ITU-R BS.1770-4, annex 1, tables 1 and 2 (48 kHz).
  it('reproduces the coefficients printed for 48 kHz', () => {
    const [shelf, highPass] = kWeightingSections(48_000);
    expect(shelf.b0).toBeCloseTo(1.53512485958697, 8);
    expect(shelf.b1).toBeCloseTo(-2.69169618940638, 8);
    expect(shelf.b2).toBeCloseTo(1.19839281085285, 8);
    expect(shelf.a1).toBeCloseTo(-1.69065929318241, 8);
    expect(shelf.a2).toBeCloseTo(0.73248077421585, 8);
    expect(highPass).toMatchObject({ b0: 1, b1: -2, b2: 1 });
    expect(highPass.a1).toBeCloseTo(-1.99004745483398, 8);
    expect(highPass.a2).toBeCloseTo(0.99007225036621, 8);
  });
});

// EBU Tech 3341 (v4, 2023), table 1: sine in both channels, tolerance +-0.1 LU. The standard states the signals
// at 48 kHz; the same signals at this project's 24 kHz must read the same.
describe.each([48_000, 24_000])('EBU Tech 3341 signals at %i Hz', (sampleRateHz) => {
  const stereo = (parts: readonly Part[]) => {
    const side = steppedSine(parts, sampleRateHz);
    return [side, side];
  };
  it.each([
    ['1', [part(-23, 20)], -23],
    ['2', [part(-33, 20)], -33],
    ['3', [part(-36, 10), part(-23, 60), part(-36, 10)], -23],
    ['4', [part(-72, 10), part(-36, 10), part(-23, 60), part(-36, 10), part(-72, 10)], -23],
    ['5', [part(-26, 20), part(-20, 20.1), part(-26, 20)], -23],
  ])('case %s integrated', (_case, parts, expectedLufs) => {
    const measured = integratedLoudnessOfChannels(stereo(parts), sampleRateHz);
    expect(Math.abs(measured - expectedLufs)).toBeLessThanOrEqual(0.1);
  });

  it('case 9 short-term', () => {
    const values = slidingLoudness(
      stereo(repeated(5, [part(-20, 1.34), part(-30, 1.66)])),
      sampleRateHz,
      3000,
    );
    expect(values.length).toBeGreaterThan(100);
    for (const lufs of values) expect(Math.abs(lufs + 23)).toBeLessThanOrEqual(0.1);
  });

  it('case 12 momentary', () => {
    const values = slidingLoudness(
      stereo(repeated(25, [part(-20, 0.18), part(-30, 0.22)])),
      sampleRateHz,
      400,
    );
    const fromOneSecond = values.slice(6);
    expect(fromOneSecond.length).toBeGreaterThan(80);
    for (const lufs of fromOneSecond) expect(Math.abs(lufs + 23)).toBeLessThanOrEqual(0.1);
  });

  it('reads one channel 3.01 dB lower, so that a sine at -13 dBFS is -16 LUFS (from case 1 by arithmetic)', () => {
    expect(integratedLoudness(steppedSine([part(-13, 10)], sampleRateHz), sampleRateHz)).toBeCloseTo(-16, 1);
  });
});

describe('integrated loudness', () => {
  it('is -Infinity for silence and for nothing', () => {
    expect(integratedLoudness(new Float32Array(48_000), 24_000)).toBe(-Infinity);
    expect(integratedLoudness(new Float32Array(0), 24_000)).toBe(-Infinity);
  });

  it('measures a sound shorter than a block', () => {
    const short = steppedSine([part(-13, 0.3)], 24_000);
    expect(Math.abs(integratedLoudness(short, 24_000) + 16)).toBeLessThan(0.2);
  });

  // Independent meter: ffmpeg's ebur128 filter, which prints one decimal.
  it.each([
    [24_000, 180, [part(-20, 3), part(-40, 5), part(-14, 2)]],
    [48_000, 4000, [part(-30, 4), part(-18, 4)]],
    [24_000, 60, [part(-12, 6)]],
  ])('agrees with ffmpeg at %i Hz, sine of %i Hz', async (sampleRateHz, frequencyHz, parts) => {
    const samples = steppedSine(parts, sampleRateHz, frequencyHz);
    const { log } = await runFfmpegWithLog({
      input: Buffer.from(samples.buffer),
      inputOptions: ['-f', 'f32le', '-ar', String(sampleRateHz), '-ac', '1'],
      filters: ['ebur128'],
      outputOptions: ['-f', 'null'],
    });
    const stated = [...log.matchAll(/I:\s+(-?[\d.]+) LUFS/g)].pop()?.[1];
    expect(Math.abs(integratedLoudness(samples, sampleRateHz) - Number(stated))).toBeLessThanOrEqual(0.1);
  });
});
