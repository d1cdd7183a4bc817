import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { runFfmpeg, runFfmpegWithLog } from '../../src/ffmpeg/runFfmpeg.js';
import { normalizeLevel } from '../../src/signal/level.js';
import { limitPeaks } from '../../src/signal/limiter.js';
import { integratedLoudness } from '../../src/signal/loudness.js';
import { resample } from '../../src/signal/resample.js';
import { trimSilence } from '../../src/signal/trim.js';
import { truePeakDbtp } from '../../src/signal/truePeak.js';

const sine = (hz: number, rateHz: number, length: number, level = 0.5) =>
  Float32Array.from({ length }, (_, at) => level * Math.sin((2 * Math.PI * hz * at) / rateHz));

/** Difference of two sounds against the second, in dB, away from the ends. */
function errorDb(a: Float32Array, b: Float32Array, margin: number): number {
  let error = 0;
  let power = 0;
  for (let at = margin; at < b.length - margin; at += 1) {
    error += ((a[at] ?? 0) - (b[at] ?? 0)) ** 2;
    power += (b[at] ?? 0) ** 2;
  }
  return 10 * Math.log10(error / power);
}

const bytesOf = (samples: Float32Array) =>
  Buffer.from(samples.buffer, samples.byteOffset, samples.byteLength);

describe('resampling', () => {
  it.each([
    [16_000, 24_000],
    [22_050, 24_000],
    [32_000, 24_000],
    [44_100, 24_000],
    [48_000, 24_000],
    [8_000, 24_000],
  ])('moves a sine from %i to %i Hz without delay or change', (fromHz, toHz) => {
    for (const hz of [100, 440, 1000, 3000]) {
      const moved = resample(sine(hz, fromHz, fromHz / 2), fromHz, toHz);
      expect(moved.length).toBe(toHz / 2);
      expect(errorDb(moved, sine(hz, toHz, toHz / 2), 500), `${hz} Hz`).toBeLessThan(-60);
    }
  });

  it('lets nothing fold back from above the new half rate', () => {
    const folded = resample(sine(15_000, 48_000, 48_000), 48_000, 24_000).subarray(500, -500);
    const peak = folded.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
    expect(20 * Math.log10(peak / 0.5)).toBeLessThan(-60);
  });

  it('agrees with the resampler of ffmpeg, an independent one', async () => {
    const sound = sine(300, 16_000, 16_000, 0.2).map(
      (sample, at) => sample + 0.2 * Math.sin(at * 0.9) * Math.sin(at * 0.001),
    );
    const output = await runFfmpeg({
      input: bytesOf(sound),
      inputOptions: ['-f', 'f32le', '-ar', '16000', '-ac', '1'],
      outputOptions: ['-f', 'f32le', '-ar', '24000', '-ac', '1'],
    });
    const theirs = Float32Array.from({ length: output.length / 4 }, (_, at) => output.readFloatLE(4 * at));
    expect(Math.abs(theirs.length - 24_000)).toBeLessThan(5);
    expect(errorDb(resample(sound, 16_000, 24_000), theirs, 500)).toBeLessThan(-50);
  });
});

describe('the peak limiter', () => {
  const loudBursts = (seed: number) =>
    Float32Array.from({ length: 12_000 }, (_, at) => {
      const burst = 0.2 + 1.4 * Math.max(0, Math.sin((at / 4000) * 2 * Math.PI)) ** 2;
      return burst * Math.sin(at * (0.07 + seed / 5000)) * Math.cos(at * 0.0131 + seed);
    });

  it('keeps true peaks under the ceiling, whatever comes', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 500 }),
        fc.double({ min: -9, max: -1, noNaN: true }),
        (seed, ceiling) => {
          const limited = limitPeaks(loudBursts(seed), 24_000, ceiling);
          expect(truePeakDbtp(limited, 24_000)).toBeLessThan(ceiling + 0.2);
        },
      ),
      { numRuns: 20 },
    );
  });

  it('agrees with the true-peak meter of ffmpeg', async () => {
    const limited = limitPeaks(loudBursts(7), 24_000, -2.5);
    const { log } = await runFfmpegWithLog({
      input: bytesOf(limited),
      inputOptions: ['-f', 'f32le', '-ar', '24000', '-ac', '1'],
      outputOptions: ['-f', 'null'],
      filters: ['ebur128=peak=true'],
    });
    const peak = Number(/True peak:\s+Peak:\s+(-?[\d.]+) dBFS/.exec(log)?.[1]);
    expect(Math.abs(peak - -2.5)).toBeLessThan(0.3);
  });

  it('leaves a sound under the ceiling as it is, and quiet parts of a loud one too', () => {
    const quiet = sine(500, 24_000, 5000, 0.3);
    expect(limitPeaks(quiet, 24_000, -2.5)).toBe(quiet);
    const loud = loudBursts(3);
    const limited = limitPeaks(loud, 24_000, -2.5);
    expect(limited.subarray(2200, 3800)).toEqual(loud.subarray(2200, 3800));
  });

  it('never turns up and never changes a sign', () => {
    const loud = loudBursts(11);
    limitPeaks(loud, 24_000, -6).forEach((sample, at) => {
      const before = loud[at] ?? 0;
      expect(Math.abs(sample)).toBeLessThanOrEqual(Math.abs(before) + 1e-7);
      expect(sample * before).toBeGreaterThanOrEqual(0);
    });
  });
});

describe('levelling', () => {
  it('brings a sound to the wanted loudness and under the ceiling', () => {
    const sound = sine(400, 24_000, 24_000, 0.01);
    const levelled = normalizeLevel(sound, 24_000, { lufs: -16, ceilingDbtp: -2 });
    expect(integratedLoudness(levelled, 24_000)).toBeCloseTo(-16, 1);
    expect(truePeakDbtp(levelled, 24_000)).toBeLessThan(-2);
  });

  it('leaves silence silent', () => {
    expect(normalizeLevel(new Float32Array(1000), 24_000, { lufs: -16, ceilingDbtp: -2 })).toEqual(
      new Float32Array(1000),
    );
  });
});

describe('trimming', () => {
  it('keeps the sound with soft edges of the wanted length, wherever it stood', () => {
    for (const [before, after] of [
      [5000, 3000],
      [0, 0],
      [40, 10_000],
    ] as const) {
      const sound = new Float32Array(before + 8000 + after);
      sound.set(sine(700, 16_000, 8000), before);
      const kept = trimSilence(sound, 16_000, 15);
      expect(Math.abs(kept.length - (8000 + 2 * 240))).toBeLessThanOrEqual(160);
      expect(Math.abs(kept[0] ?? 1)).toBeLessThan(0.001);
      expect(Math.abs(kept.at(-1) ?? 1)).toBeLessThan(0.001);
      const loudest = kept.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
      expect(loudest).toBeCloseTo(0.5, 2);
    }
  });

  it('gives nothing for silence', () => {
    expect(trimSilence(new Float32Array(4000), 16_000, 15).length).toBe(0);
  });
});
