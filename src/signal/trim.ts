const windowMs = 5;
/**
 * A window this far below the loudest one counts as silence. In the embedded voices a soft "f" is about 32 dB below,
 * and the noise in their silence 45 dB or more.
 */
const silenceDb = -38;

/**
 * Removes the silence before and after a sound, and leaves a soft edge on each side. The edges fade in and out, so that
 * the cut cannot click. Returns an empty array when there is only silence.
 *
 * @param edgeMs how much to leave before the first and after the last sound; silence is added where there is less
 */
export function trimSilence(samples: Float32Array, sampleRateHz: number, edgeMs: number): Float32Array {
  const windowSamples = Math.round((windowMs * sampleRateHz) / 1000);
  const powers = windowPowers(samples, windowSamples);
  const loudest = powers.reduce((most, power) => Math.max(most, power), 0);
  if (loudest === 0) return new Float32Array(0);
  const threshold = loudest * 10 ** (silenceDb / 10);
  const first = powers.findIndex((power) => power >= threshold);
  const last = powers.findLastIndex((power) => power >= threshold);
  const edgeSamples = Math.round((edgeMs * sampleRateHz) / 1000);
  const from = first * windowSamples - edgeSamples;
  const to = Math.min((last + 1) * windowSamples, samples.length) + edgeSamples;
  const trimmed = new Float32Array(to - from);
  const inside = samples.subarray(Math.max(0, from), Math.min(to, samples.length));
  trimmed.set(inside, Math.max(0, -from));
  fadeEdges(trimmed, edgeSamples);
  return trimmed;
}

function windowPowers(samples: Float32Array, windowSamples: number): Float64Array {
  const powers = new Float64Array(Math.ceil(samples.length / windowSamples));
  for (let at = 0; at < samples.length; at += 1) {
    const window = Math.floor(at / windowSamples);
    powers[window] = (powers[window] ?? 0) + (samples[at] ?? 0) ** 2;
  }
  return powers;
}

/** Applies a raised cosine to the edges; the speech between them is unchanged. */
function fadeEdges(samples: Float32Array, fadeSamples: number): void {
  const length = Math.min(fadeSamples, Math.floor(samples.length / 2));
  for (let step = 0; step < length; step += 1) {
    const gain = 0.5 - 0.5 * Math.cos((Math.PI * (step + 0.5)) / length);
    const mirror = samples.length - 1 - step;
    samples[step] = (samples[step] ?? 0) * gain;
    samples[mirror] = (samples[mirror] ?? 0) * gain;
  }
}
