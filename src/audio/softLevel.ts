import { slidingLoudness } from '../signal/loudness.js';
import { sampleRateHz } from '../signal/sampleRate.js';

const momentaryMs = 400;

/**
 * Rule A4: soft sounds stay far below speech. Scales a sound so that its loudest 400 ms (momentary loudness, EBU Tech
 * 3341) has the given loudness.
 */
export function atMomentaryLoudness(samples: Float32Array, lufs: number): Float32Array {
  const loudest = Math.max(...slidingLoudness([samples], sampleRateHz, momentaryMs));
  if (!Number.isFinite(loudest)) return samples;
  const gain = 10 ** ((lufs - loudest) / 20);
  return samples.map((sample) => sample * gain);
}

/** Rises from 0 to 1 along half a cosine as `x` goes from 0 to 1; constant outside. */
export function softRise(x: number): number {
  return 0.5 - 0.5 * Math.cos(Math.PI * Math.max(0, Math.min(1, x)));
}
