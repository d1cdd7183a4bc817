import { sampleRateHz, samplesPerMs } from '../signal/sampleRate.js';
import { atMomentaryLoudness, softRise } from './softLevel.js';

/**
 * As loud over its 400 ms as the presence sound: 23 LU under speech at -16 LUFS (WCAG 2.2, 1.4.7, asks for 20 dB).
 * It lasts less than a third of them, so that it stands out while it sounds.
 */
const countToneLufs = -39;
const momentaryMs = 400;

/** One plain note between those of the presence sound, for ears that have lost the high ones. */
const frequencyHz = 392;
const attackMs = 6;
const fadeOutMs = 60;

/** Changes whenever the sound could come out different. */
const countToneVersion = 1;

/** Names the samples of a tone that stands for a count. */
export function countToneKey(lengthSamples: number): string {
  return `count-tone/${countToneVersion} ${lengthSamples}`;
}

/** A short soft tone: one second has passed. It begins on its beat. */
export function countTone(lengthSamples: number): Float32Array {
  // Its loudness is that of the 400 ms in which it is heard.
  const window = new Float32Array(Math.max(lengthSamples, momentaryMs * samplesPerMs));
  for (let i = 0; i < lengthSamples; i += 1) {
    const strength =
      softRise(i / samplesPerMs / attackMs) * softRise((lengthSamples - i) / samplesPerMs / fadeOutMs);
    const angle = (2 * Math.PI * frequencyHz * i) / sampleRateHz;
    window[i] = strength * (Math.sin(angle) + 0.2 * Math.sin(2 * angle));
  }
  return atMomentaryLoudness(window, countToneLufs).slice(0, lengthSamples);
}
