import { kWeightingSections } from './kWeighting.js';

const hopMs = 100;
const blockMs = 400;
const absoluteGateLufs = -70;
const relativeGateLu = -10;
/** At this value the filter's tail is 600 dB below the sound, so its square adds nothing to any sum. */
const rungOut = 1e-30;

/**
 * Returns the gated loudness of one channel in LUFS (ITU-R BS.1770-4, annex 1: blocks of 400 ms with 75 % overlap,
 * gates at -70 LUFS and at 10 LU below the mean of the remaining blocks). -Infinity for silence.
 *
 * A sound shorter than one block is measured as one block of its own length. The standard does not define that case,
 * but a spoken number of 300 ms needs a loudness too.
 */
export function integratedLoudness(samples: Float32Array, sampleRateHz: number): number {
  return integratedLoudnessOfChannels([samples], sampleRateHz);
}

/** Returns the gated loudness of several channels of equal weight and length, such as left and right, in LUFS. */
export function integratedLoudnessOfChannels(
  channels: readonly Float32Array[],
  sampleRateHz: number,
): number {
  const powers = slidingPowers(channels, sampleRateHz, blockMs);
  const audible = powers.filter((power) => lufsOf(power) > absoluteGateLufs);
  if (audible.length === 0) return -Infinity;
  const gateLufs = lufsOf(mean(audible)) + relativeGateLu;
  return lufsOf(mean(audible.filter((power) => lufsOf(power) > gateLufs)));
}

/**
 * Returns the ungated loudness in LUFS of a window that moves in steps of 100 ms: 400 ms gives the momentary, 3000 ms
 * the short-term loudness of EBU Tech 3341 (section 2.2). Entry i covers the window that starts at i x 100 ms.
 */
export function slidingLoudness(
  channels: readonly Float32Array[],
  sampleRateHz: number,
  windowMs: number,
): number[] {
  return slidingPowers(channels, sampleRateHz, windowMs).map(lufsOf);
}

/** Returns the K-weighted power of each window, summed over the channels. */
function slidingPowers(channels: readonly Float32Array[], sampleRateHz: number, windowMs: number): number[] {
  const lengthSamples = channels[0]?.length ?? 0;
  if (lengthSamples === 0) return [];
  const hopSamples = Math.round((hopMs * sampleRateHz) / 1000);
  const hops = new Float64Array(Math.ceil(lengthSamples / hopSamples));
  for (const samples of channels) addHopEnergies(hops, samples, sampleRateHz, hopSamples);
  const windowHops = Math.round(windowMs / hopMs);
  const windowSamples = windowHops * hopSamples;
  if (lengthSamples < windowSamples) return [hops.reduce((sum, energy) => sum + energy, 0) / lengthSamples];
  const powers: number[] = [];
  for (let first = 0; first * hopSamples + windowSamples <= lengthSamples; first += 1) {
    let energy = 0;
    for (let hop = first; hop < first + windowHops; hop += 1) energy += hops[hop] ?? 0;
    powers.push(energy / windowSamples);
  }
  return powers;
}

/** Adds the energy of each K-weighted sample to the hop that contains it. */
function addHopEnergies(
  hops: Float64Array,
  samples: Float32Array,
  sampleRateHz: number,
  hopSamples: number,
): void {
  const [shelf, highPass] = kWeightingSections(sampleRateHz);
  let [s1, s2, h1, h2] = [0, 0, 0, 0];
  for (let hop = 0; hop < hops.length; hop += 1) {
    const end = Math.min((hop + 1) * hopSamples, samples.length);
    let energy = 0;
    for (let i = hop * hopSamples; i < end; i += 1) {
      const x = samples[i] ?? 0;
      const y = shelf.b0 * x + s1;
      s1 = shelf.b1 * x - shelf.a1 * y + s2;
      s2 = shelf.b2 * x - shelf.a2 * y;
      const z = highPass.b0 * y + h1;
      h1 = highPass.b1 * y - highPass.a1 * z + h2;
      h2 = highPass.b2 * y - highPass.a2 * z;
      energy += z * z;
    }
    hops[hop] = (hops[hop] ?? 0) + energy;
    // In silence the filters decay to subnormal numbers, which a processor handles a hundred times as slowly: the shelf
    // within a tenth of a second, the high-pass after seven seconds more.
    if (Math.max(Math.abs(s1), Math.abs(s2)) < rungOut) s1 = s2 = 0;
    if (Math.max(Math.abs(h1), Math.abs(h2)) < rungOut) h1 = h2 = 0;
  }
}

function lufsOf(power: number): number {
  return power <= 0 ? -Infinity : -0.691 + 10 * Math.log10(power);
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
