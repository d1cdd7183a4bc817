import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { truePeakDbtp } from '../../src/signal/truePeak.js';

function sine(sampleRateHz: number, divisor: number, phaseDegrees: number, amplitude: number): Float32Array {
  return Float32Array.from(
    { length: sampleRateHz },
    (_, i) => amplitude * Math.sin((2 * Math.PI * i) / divisor + (phaseDegrees * Math.PI) / 180),
  );
}

// EBU Tech 3341 (v4, 2023), cases 15 to 19: 48 kHz, tolerance +0.2 / -0.4 dB. The signals are stated relative to
// the sample rate, so they hold at 24 kHz too.
describe.each([48_000, 24_000])('true peak, EBU Tech 3341 at %i Hz', (sampleRateHz) => {
  it.each([
    ['15', 4, 0, 0.5, -6],
    ['16', 4, 45, 0.5, -6],
    ['17', 6, 60, 0.5, -6],
    ['18', 8, 67.5, 0.5, -6],
    ['19', 4, 45, 1.41, 3],
  ])('case %s', (_case, divisor, phaseDegrees, amplitude, expectedDbtp) => {
    // Faded at both ends: a sine that starts at full level overshoots, which is not what the cases ask about.
    const samples = sine(sampleRateHz, divisor, phaseDegrees, amplitude);
    const fadeSamples = sampleRateHz / 100;
    for (let i = 0; i < fadeSamples; i += 1) {
      const gain = i / fadeSamples;
      samples[i] = (samples[i] ?? 0) * gain;
      samples[samples.length - 1 - i] = (samples[samples.length - 1 - i] ?? 0) * gain;
    }
    const excessDb = truePeakDbtp(samples, sampleRateHz) - expectedDbtp;
    expect(excessDb).toBeLessThanOrEqual(0.2);
    expect(excessDb).toBeGreaterThanOrEqual(-0.4);
  });
});

describe('true peak', () => {
  it('sees what lies between the samples (control: the samples alone read 3 dB lower)', () => {
    const samples = sine(24_000, 4, 45, 0.5).map(
      (sample, i) => sample * Math.min(1, i / 240, (23_999 - i) / 240),
    );
    const samplePeakDb = 20 * Math.log10(Math.max(...samples));
    expect(truePeakDbtp(samples, 24_000) - samplePeakDb).toBeGreaterThan(2.8);
  });

  it('is -Infinity for silence', () => {
    expect(truePeakDbtp(new Float32Array(1000), 24_000)).toBe(-Infinity);
  });
});

describe('the quiet places that are left out', () => {
  /** Every point in turn: a sine cardinal under a raised cosine, eight samples to each side. */
  function readEverywhere(samples: Float32Array): number {
    let peak = 0;
    for (let eighth = 0; eighth < samples.length * 8; eighth += 1) {
      const at = eighth / 8;
      let level = 0;
      for (let i = Math.floor(at) - 7; i <= Math.floor(at) + 8; i += 1) {
        const far = i - at;
        const cardinal = far === 0 ? 1 : Math.sin(Math.PI * far) / (Math.PI * far);
        level += (samples[i] ?? 0) * cardinal * (0.5 + 0.5 * Math.cos((Math.PI * far) / 8));
      }
      peak = Math.max(peak, Math.abs(level));
    }
    return 20 * Math.log10(peak);
  }

  it('never held the peak, whatever the sound', () => {
    const level = fc.oneof(fc.double({ min: -1, max: 1, noNaN: true }), fc.constantFrom(0, 0, 1, -1, 0.9));
    const sound = fc.array(level, { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(sound, (levels) => {
        const samples = Float32Array.from([0.01, ...levels]);
        expect(truePeakDbtp(samples, 24_000)).toBeCloseTo(readEverywhere(samples), 6);
      }),
    );
  });
});
