/** The rate of the recognizer's acoustic model. */
export const listeningRateHz = 16_000;

/** A stretch of sound with words in it, found by ear alone: nothing here knows the script. */
export type Utterance = { startSample: number; samples: Int16Array };

const frameSamples = listeningRateHz / 100;
/** Below this the energy of a voice hardly says whether it speaks; breath tones and room hum live here. */
const lowestUsefulHz = 700;
/** Softer than the loud parts by more than this counts as silence. */
const rangeDb = 32;
/**
 * A stretch that never comes this close to the loud parts is background: it has to lie 20 dB under the speech
 * (WCAG 2.2, success criterion 1.4.7).
 */
const backgroundDb = 15;
/** A pause longer than this parts two utterances: longer than at a comma, shorter than between two cues. */
const longestPauseFrames = 45;
/** Left standing around the sound, so that soft first and last consonants stay whole. */
const marginFrames = 20;

/** Cuts a recording at its silences. */
export function findUtterances(samples: Int16Array): Utterance[] {
  const levels = frameLevelsDb(samples);
  const loud = [...levels].sort((a, b) => b - a)[Math.floor(levels.length * 0.05)] ?? 0;
  const stretches: { first: number; last: number; peakDb: number }[] = [];
  levels.forEach((level, frame) => {
    if (level < loud - rangeDb) return;
    const current = stretches.at(-1);
    if (current !== undefined && frame - current.last <= longestPauseFrames) {
      current.last = frame;
      current.peakDb = Math.max(current.peakDb, level);
    } else stretches.push({ first: frame, last: frame, peakDb: level });
  });
  const spoken = stretches.filter(({ peakDb }) => peakDb > loud - backgroundDb);
  return spoken.map(({ first, last }) => {
    const startSample = Math.max(0, (first - marginFrames) * frameSamples);
    const endSample = Math.min(samples.length, (last + 1 + marginFrames) * frameSamples);
    return { startSample, samples: samples.slice(startSample, endSample) };
  });
}

/** Level of each 10 ms above {@link lowestUsefulHz}, by a second-order high-pass. */
function frameLevelsDb(samples: Int16Array): Float64Array {
  const smoothing = 1 / (1 + (2 * Math.PI * lowestUsefulHz) / listeningRateHz);
  const levels = new Float64Array(Math.floor(samples.length / frameSamples));
  let [lastIn, lastMiddle, lastOut] = [0, 0, 0];
  for (let frame = 0; frame < levels.length; frame++) {
    let energy = 0;
    for (let i = frame * frameSamples; i < (frame + 1) * frameSamples; i++) {
      const input = (samples[i] ?? 0) / 32_768;
      const middle = smoothing * (lastMiddle + input - lastIn);
      const out = smoothing * (lastOut + middle - lastMiddle);
      [lastIn, lastMiddle, lastOut] = [input, middle, out];
      energy += out * out;
    }
    levels[frame] = 10 * Math.log10(energy / frameSamples + 1e-12);
  }
  return levels;
}
