import { presenceDurationMs } from '../script/presence.js';
import { sampleRateHz, samplesPerMs } from '../signal/sampleRate.js';
import { atMomentaryLoudness, softRise } from './softLevel.js';

/** 23 LU under speech at -16 LUFS: as clear as 20 dB under speech (WCAG 2.2, 1.4.7) lets it be. */
const presenceLufs = -39;

/** Two notes, a fourth apart, low enough for ears that have lost the high ones. */
const notes = [
  { frequencyHz: 330, startMs: 0 },
  { frequencyHz: 440, startMs: 350 },
] as const;
const attackMs = 60;
const decayMs = 300;
const fadeOutMs = 250;

/** Changes whenever the sound could come out different. */
const presenceVersion = 1;

export const presenceLengthSamples = presenceDurationMs * samplesPerMs;

/** Names the samples of the presence sound. */
export const presenceKey = `presence/${presenceVersion}`;

/** A soft chime of two notes: the session is still here, nothing is broken, rest on. */
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
