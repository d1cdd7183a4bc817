const lookAheadMs = 4;
const tapsPerSide = 12;
/**
 * Number of points checked between two samples. Voices have their peaks far below 6 kHz, where this misses less than
 * 0.2 dB.
 */
const pointsBetween = 3;
/** The first round aims 0.1 dB lower, so that a second one is rarely needed. */
const spareShare = 0.989;
const mostRounds = 4;
/** The wave between samples is checked only where a sample is at least this share of the ceiling. */
const nearCeiling = 0.7;

/**
 * Lowers the level around every peak that would exceed the ceiling, starting a few milliseconds before it, so that
 * peaks shrink without a click and everything else keeps its level. Peaks between samples count (true peak, ITU-R
 * BS.1770-4, annex 2). Returns the same array when no peak is too high.
 *
 * @param ceilingDbtp highest true peak of the result, in dB relative to full scale
 */
export function limitPeaks(samples: Float32Array, sampleRateHz: number, ceilingDbtp: number): Float32Array {
  const ceiling = 10 ** (ceilingDbtp / 20);
  let limited = samples;
  // Lowering the level changes the wave between samples slightly; further rounds catch any peak that remains.
  for (let round = 0; round < mostRounds; round += 1) {
    const gains = neededGains(limited, ceiling, round === 0 ? spareShare * ceiling : ceiling);
    if (gains === null) return limited;
    const reach = Math.max(1, Math.round((lookAheadMs * sampleRateHz) / 1000));
    limited = multiplied(limited, smoothed(lowestWithin(gains, reach), reach));
  }
  return limited;
}

/**
 * Returns the gains that bring each sample, and the wave up to the next one, from above the ceiling to the target; null
 * when nothing is above it.
 */
function neededGains(samples: Float32Array, ceiling: number, aim: number): Float64Array | null {
  let gains: Float64Array | null = null;
  for (let at = 0; at < samples.length; at += 1) {
    const here = Math.abs(samples[at] ?? 0);
    const next = Math.abs(samples[at + 1] ?? 0);
    if (Math.max(here, next) < nearCeiling * ceiling) continue;
    const peak = Math.max(here, largestAfter(samples, at));
    if (peak <= ceiling) continue;
    gains ??= new Float64Array(samples.length).fill(1);
    const gain = aim / peak;
    gains[at] = Math.min(gains[at] ?? 1, gain);
    if (at + 1 < samples.length) gains[at + 1] = gain;
  }
  return gains;
}

function largestAfter(samples: Float32Array, at: number): number {
  let largest = 0;
  for (const taps of pointTaps) {
    let sum = 0;
    for (let tap = 0; tap < taps.length; tap += 1) {
      sum += (taps[tap] ?? 0) * (samples[at + tap - tapsPerSide + 1] ?? 0);
    }
    largest = Math.max(largest, Math.abs(sum));
  }
  return largest;
}

/** Taps of a sinc function under a raised-cosine window, for each point between a sample and the next. */
const pointTaps = Array.from({ length: pointsBetween }, (_, point) =>
  Float64Array.from({ length: 2 * tapsPerSide }, (_, tap) => {
    const distance = tap - tapsPerSide + 1 - (point + 1) / (pointsBetween + 1);
    const window = 0.5 + 0.5 * Math.cos((Math.PI * distance) / tapsPerSide);
    return (window * Math.sin(Math.PI * distance)) / (Math.PI * distance);
  }),
);

/** Returns, for each position, the lowest gain from `reach` samples before it to `reach` after it. */
function lowestWithin(gains: Float64Array, reach: number): Float64Array {
  const lowest = new Float64Array(gains.length).fill(1);
  for (let at = 0; at < gains.length; at += 1) {
    const gain = gains[at] ?? 1;
    if (gain === 1) continue;
    const end = Math.min(gains.length - 1, at + reach);
    for (let near = Math.max(0, at - reach); near <= end; near += 1) {
      lowest[near] = Math.min(lowest[near] ?? 1, gain);
    }
  }
  return lowest;
}

/**
 * Averages over `reach` samples on each side, so that gains change in ramps. No gain rises above what its position
 * needs.
 */
function smoothed(gains: Float64Array, reach: number): Float64Array {
  const smooth = new Float64Array(gains.length);
  let sum = reach + 1;
  for (let at = 0; at < reach; at += 1) sum += gains[at] ?? 1;
  for (let at = 0; at < gains.length; at += 1) {
    sum += (gains[at + reach] ?? 1) - (gains[at - reach - 1] ?? 1);
    // The sum starts with `reach` + 1 ones for the positions before the first, plus gains[0..reach-1].
    smooth[at] = sum / (2 * reach + 1);
  }
  return smooth;
}

function multiplied(samples: Float32Array, gains: Float64Array): Float32Array {
  const product = new Float32Array(samples.length);
  for (let at = 0; at < samples.length; at += 1) product[at] = (samples[at] ?? 0) * (gains[at] ?? 1);
  return product;
}
