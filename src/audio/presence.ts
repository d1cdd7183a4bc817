import { presenceDurationMs } from '../script/presence.js';
import { sampleRateHz, samplesPerMs } from '../signal/sampleRate.js';
import { atMomentaryLoudness, softRise } from './softLevel.js';

/** 23 LU below speech at -16 LUFS: as clear as the required 20 dB below speech (WCAG 2.2, 1.4.7) allows. */
const presenceLufs = -39;

/** Two notes, a fourth apart, low enough for listeners with high-frequency hearing loss. */
const notes = [
  { frequencyHz: 330, startMs: 0 },
  { frequencyHz: 440, startMs: 350 },
] as const;
const attackMs = 60;
const decayMs = 300;
const fadeOutMs = 250;

/** Increase this whenever the sound could come out different, because it is part of the cache key. */
const presenceVersion = 1;

export const presenceLengthSamples = presenceDurationMs * samplesPerMs;

/** Cache key of the presence sound. */
export const presenceKey = `presence/${presenceVersion}`;

/**
 * Makes a soft two-note chime, which tells the listener that the session is still running and they can keep resting.
 * Returns mono samples from -1 to 1.
 */
export function presenceSound(): Float32Array {
  const samples = new Float32Array(presenceLengthSamples);
  for (const { frequencyHz, startMs } of notes) {
    for (let i = startMs * samplesPerMs; i < samples.length; i += 1) {
      const noteMs = i / samplesPerMs - startMs;
      const strength = softRise(noteMs / attackMs) * Math.exp(-Math.max(0, noteMs - attackMs) / decayMs);
      const angle = (2 * Math.PI * frequencyHz * (i - startMs * samplesPerMs)) / sampleRateHz;
      samples[i] = (samples[i] ?? 0) + strength * (Math.sin(angle) + 0.15 * Math.sin(2 * angle));
    }
  }
  const faded = samples.map(
    (sample, i) => sample * softRise((presenceDurationMs - i / samplesPerMs) / fadeOutMs),
  );
  return atMomentaryLoudness(faded, presenceLufs);
}
