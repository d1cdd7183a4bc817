const lookAheadMs = 4;
const tapsPerSide = 12;
/** Points looked at between two samples. Voices have their peaks far below 6 kHz, where this misses under 0.2 dB. */
const pointsBetween = 3;
/** The first round aims 0.1 dB lower, so that a second one is seldom needed. */
const spareShare = 0.989;
const mostRounds = 4;
/** Only where a sample comes this near to the ceiling is the wave between samples looked at. */
const nearCeiling = 0.7;

/**
 * Turns the level down around every peak that would pass the ceiling, beginning a few milliseconds before it, so
 * that peaks shrink without a click and everything else keeps its level. Peaks between samples count (true peak,
 * ITU-R BS.1770-4, annex 2). Gives the same array when no peak is too high.
 *
 * @param ceilingDbtp highest true peak of the result, in dB relative to full scale.
 */
export function limitPeaks(samples: Float32Array, sampleRateHz: number, ceilingDbtp: number): Float32Array {
  const ceiling = 10 ** (ceilingDbtp / 20);
  let limited = samples;
  // Turning down changes the wave between the samples a little; more rounds catch what is left of that.
  for (let round = 0; round < mostRounds; round += 1) {
    const gains = neededGains(limited, ceiling, round === 0 ? spareShare * ceiling : ceiling);
    if (gains === null) return limited;
    const reach = Math.max(1, Math.round((lookAheadMs * sampleRateHz) / 1000));
    limited = multiplied(limited, smoothed(lowestWithin(gains, reach), reach));
  }
  return limited;
}

/** The gain that brings each sample, and the wave to the next, from above the ceiling to the aim; null if none is. */
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

/** Taps of a sine cardinal under a raised cosine, for each point between a sample and the next. */
const pointTaps = Array.from({ length: pointsBetween }, (_, point) =>
  Float64Array.from({ length: 2 * tapsPerSide }, (_, tap) => {
    const distance = tap - tapsPerSide + 1 - (point + 1) / (pointsBetween + 1);
    const window = 0.5 + 0.5 * Math.cos((Math.PI * distance) / tapsPerSide);
    return (window * Math.sin(Math.PI * distance)) / (Math.PI * distance);
  }),
);

/** For each place the lowest gain from `reach` before it to `reach` after it. */
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

/** Mean over `reach` on each side: gains change in ramps, and none rises above what its place needs. */
function smoothed(gains: Float64Array, reach: number): Float64Array {
  const smooth = new Float64Array(gains.length);
  let sum = reach + 1;
  for (let at = 0; at < reach; at += 1) sum += gains[at] ?? 1;
  for (let at = 0; at < gains.length; at += 1) {
    sum += (gains[at + reach] ?? 1) - (gains[at - reach - 1] ?? 1);
    // The sum starts with `reach` + 1 ones for the places before the first and gains[0..reach-1].
    smooth[at] = sum / (2 * reach + 1);
  }
  return smooth;
}

function multiplied(samples: Float32Array, gains: Float64Array): Float32Array {
  const product = new Float32Array(samples.length);
  for (let at = 0; at < samples.length; at += 1) product[at] = (samples[at] ?? 0) * (gains[at] ?? 1);
  return product;
}
