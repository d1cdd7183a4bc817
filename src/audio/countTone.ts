import { sampleRateHz, samplesPerMs } from '../signal/sampleRate.js';
import { atMomentaryLoudness, softRise } from './softLevel.js';

/**
 * As loud over 400 ms as the presence sound: 23 LU below speech at -16 LUFS (WCAG 2.2, 1.4.7, asks for 20 dB). The tone
 * fills less than a third of the 400 ms, so it stands out while it sounds.
 */
const countToneLufs = -39;
const momentaryMs = 400;

/** One plain note between the two of the presence sound, low enough for listeners with high-frequency hearing loss. */
const frequencyHz = 392;
const attackMs = 6;
const fadeOutMs = 60;

/** Increase this whenever the sound could come out different, because it is part of the cache key. */
const countToneVersion = 1;

/** Returns the cache key of a tone that replaces a count. */
export function countToneKey(lengthSamples: number): string {
  return `count-tone/${countToneVersion} ${lengthSamples}`;
}

/** Makes a short soft tone that marks one second and begins on its beat. Returns mono samples from -1 to 1. */
export function countTone(lengthSamples: number): Float32Array {
  // Momentary loudness is measured over 400 ms, so the tone is leveled in a window of that length.
  const window = new Float32Array(Math.max(lengthSamples, momentaryMs * samplesPerMs));
  for (let i = 0; i < lengthSamples; i += 1) {
    const strength =
      softRise(i / samplesPerMs / attackMs) * softRise((lengthSamples - i) / samplesPerMs / fadeOutMs);
    const angle = (2 * Math.PI * frequencyHz * i) / sampleRateHz;
    window[i] = strength * (Math.sin(angle) + 0.2 * Math.sin(2 * angle));
  }
  return atMomentaryLoudness(window, countToneLufs).slice(0, lengthSamples);
}
