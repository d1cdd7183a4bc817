import { describe, expect, it } from 'vitest';
import { countTone } from '../../src/audio/countTone.js';
import { presenceLengthSamples, presenceSound } from '../../src/audio/presence.js';
import { breathTone } from '../../src/audio/tone.js';
import { countToneMs } from '../../src/script/rules.js';
import { slidingLoudness } from '../../src/signal/loudness.js';
import { sampleRateHz } from '../../src/signal/sampleRate.js';

const loudestOf = (samples: Float32Array) => Math.max(...slidingLoudness([samples], sampleRateHz, 400));

/** Upward zero crossings per second in a stretch: the pitch of a plain tone. */
function pitchHz(samples: Float32Array, from: number, to: number): number {
  let crossings = 0;
  for (let i = from + 1; i < to; i += 1)
    if ((samples[i - 1] ?? 0) < 0 && (samples[i] ?? 0) >= 0) crossings += 1;
  return (crossings * sampleRateHz) / (to - from);
}

/** Share of the energy at and above a frequency, by a plain Fourier sum over a coarse grid. */
function shareAbove(samples: Float32Array, limitHz: number): number {
  const power = (frequencyHz: number) => {
    const angle = (2 * Math.PI * frequencyHz) / sampleRateHz;
    const [turnCos, turnSin] = [Math.cos(angle), Math.sin(angle)];
    // Turned a little further with each sample: a sine of its own for each would take thirty times as long.
    let [re, im, cos, sin] = [0, 0, 1, 0];
    for (const sample of samples) {
      re += sample * cos;
      im += sample * sin;
      [cos, sin] = [cos * turnCos - sin * turnSin, sin * turnCos + cos * turnSin];
    }
    return re * re + im * im;
  };
  const stepHz = 5;
  let [below, above] = [0, 0];
  for (let f = stepHz; f < 2000; f += stepHz) {
    if (f >= limitHz) above += power(f);
    else below += power(f);
  }
  return above / (above + below);
}

describe.each(['in', 'out'] as const)('breath tone, %s', (direction) => {
  const samples = breathTone(direction, 3 * sampleRateHz);

  it('glides the way the breath goes, low and gently', () => {
    const [early, late] = [pitchHz(samples, 12_000, 24_000), pitchHz(samples, 48_000, 60_000)];
    if (direction === 'in') expect(late).toBeGreaterThan(early + 40);
    else expect(late).toBeLessThan(early - 40);
    for (const pitch of [early, late]) {
      expect(pitch).toBeGreaterThan(170);
      expect(pitch).toBeLessThan(300);
    }
  });

  it('keeps its energy below 500 Hz, away from where beats are measured', () => {
    expect(shareAbove(samples, 500)).toBeLessThan(0.001);
    // Control: with the limit inside the glide the same sum finds a good part of it.
    expect(shareAbove(samples, 230)).toBeGreaterThan(0.1);
  });

  it('starts and ends in silence, without a click', () => {
    const largest = Math.max(...samples);
    for (let i = 0; i < 48; i += 1) {
      expect(Math.abs(samples[i] ?? 0)).toBeLessThan(largest / 100);
      expect(Math.abs(samples[samples.length - 1 - i] ?? 0)).toBeLessThan(largest / 100);
    }
  });

  // WCAG 2.2, success criterion 1.4.7: background at least 20 dB under speech, which is at -16 LUFS here.
  it.each([200, 1000, 4000])('is 24 LU under speech when it lasts %i ms', (durationMs) => {
    expect(loudestOf(breathTone(direction, durationMs * 24))).toBeCloseTo(-40, 1);
  });
});

describe('presence sound', () => {
  it('lasts as long as the script says', () => {
    expect(presenceSound().length).toBe(presenceLengthSamples);
    expect(presenceLengthSamples).toBe(28_800);
  });

  it('is more than 20 dB under speech at -16 LUFS (WCAG 2.2, 1.4.7), yet there', () => {
    expect(loudestOf(presenceSound())).toBeCloseTo(-39, 1);
  });

  it('is two notes, E4 and A4 (equal temperament: 329.6 and 440 Hz)', () => {
    const samples = presenceSound();
    expect(Math.abs(pitchHz(samples, 480, 8000) - 329.6)).toBeLessThan(8);
    expect(Math.abs(pitchHz(samples, 18_000, 26_000) - 440)).toBeLessThan(15);
  });

  it('is always the same', () => {
    expect(Buffer.from(presenceSound().buffer).equals(Buffer.from(presenceSound().buffer))).toBe(true);
  });
});

describe('the tone that stands for a count', () => {
  const samples = countTone(countToneMs * 24);

  it('is over long before the next second, and starts at once, without a click', () => {
    expect(samples.length).toBe(2_880);
    const largest = Math.max(...samples);
    expect(Math.abs(samples[0] ?? 1)).toBeLessThan(largest / 100);
    expect(Math.abs(samples.at(-1) ?? 1)).toBeLessThan(largest / 100);
    // Within 10 ms it is as loud as it gets: far under the 25 ms that are heard as an error of a beat.
    expect(Math.max(...samples.subarray(0, 240))).toBeGreaterThan(0.9 * largest);
  });

  it('is more than 20 dB under speech at -16 LUFS in the 400 ms around it (WCAG 2.2, 1.4.7)', () => {
    const heard = new Float32Array(24_000);
    heard.set(samples, 9_600);
    expect(loudestOf(heard)).toBeCloseTo(-39, 1);
  });

  it('is G4 (equal temperament: 392.0 Hz), between the notes of the presence sound', () => {
    expect(Math.abs(pitchHz(samples, 240, 2_400) - 392)).toBeLessThan(15);
  });
});
