import { sampleRateHz } from '../signal/sampleRate.js';
import { atMomentaryLoudness, softRise } from './softLevel.js';

/**
 * 24 LU below speech at -16 LUFS; WCAG 2.2, success criterion 1.4.7, asks for 20 dB. The rest leaves room for the codec
 * and for a voice that comes out slightly softer.
 */
const toneLufs = -40;

/** Low enough to stay out of the band in which a word's perceptual center is measured (700-1300 Hz). */
const lowHz = 180;
const highHz = 280;
/** Two almost equal pitches sound warmer than one. */
const detune = 1.004;

/** Increase this whenever the same tone could sound different, because it is part of the cache key. */
const toneVersion = 1;

/** Returns the cache key of a tone. */
export function toneKey(direction: 'in' | 'out', lengthSamples: number): string {
  return `tone/${toneVersion} ${direction} ${lengthSamples}`;
}

/**
 * Makes a soft tone that rises through an in-breath or falls through an out-breath, and swells and fades with it.
 * Returns mono samples from -1 to 1.
 */
export function breathTone(direction: 'in' | 'out', lengthSamples: number): Float32Array {
  const samples = new Float32Array(lengthSamples);
  let phase = 0;
  for (let i = 0; i < lengthSamples; i += 1) {
    const done = i / lengthSamples;
    const height = softRise(direction === 'in' ? done : 1 - done);
    phase += (2 * Math.PI * lowHz * (highHz / lowHz) ** height) / sampleRateHz;
    const swell = softRise(done / 0.35) * softRise((1 - done) / 0.35);
    samples[i] = swell * (Math.sin(phase) + Math.sin(detune * phase));
  }
  return atMomentaryLoudness(samples, toneLufs);
}
