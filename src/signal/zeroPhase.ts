import type { Biquad } from './kWeighting.js';

/**
 * Returns a second-order Butterworth low-pass (bilinear transform with a prewarped corner; Oppenheim & Schafer,
 * Discrete-Time Signal Processing, chapter on IIR design by bilinear transformation).
 */
export function lowPassSection(cornerHz: number, sampleRateHz: number): Biquad {
  const k = Math.tan((Math.PI * cornerHz) / sampleRateHz);
  const a0 = 1 + Math.SQRT2 * k + k * k;
  return {
    b0: (k * k) / a0,
    b1: (2 * k * k) / a0,
    b2: (k * k) / a0,
    a1: (2 * (k * k - 1)) / a0,
    a2: (1 - Math.SQRT2 * k + k * k) / a0,
  };
}

/** Returns a second-order Butterworth high-pass, by the same transform. */
export function highPassSection(cornerHz: number, sampleRateHz: number): Biquad {
  const k = Math.tan((Math.PI * cornerHz) / sampleRateHz);
  const a0 = 1 + Math.SQRT2 * k + k * k;
  return {
    b0: 1 / a0,
    b1: -2 / a0,
    b2: 1 / a0,
    a1: (2 * (k * k - 1)) / a0,
    a2: (1 - Math.SQRT2 * k + k * k) / a0,
  };
}

/**
 * Returns a first-order band-pass with these -3 dB corners: a first-order low-pass transformed to a band, in one
 * section.
 */
export function bandPassSection(lowHz: number, highHz: number, sampleRateHz: number): Biquad {
  const low = Math.tan((Math.PI * lowHz) / sampleRateHz);
  const high = Math.tan((Math.PI * highHz) / sampleRateHz);
  const band = high - low;
  const centreSquared = low * high;
  const a0 = 1 + band + centreSquared;
  return {
    b0: band / a0,
    b1: 0,
    b2: -band / a0,
    a1: (2 * (centreSquared - 1)) / a0,
    a2: (1 - band + centreSquared) / a0,
  };
}

/**
 * Filters in place, forward and then backward, so that there is no delay and the section's attenuation applies twice.
 * The samples are taken to be surrounded by silence; pad them with enough of it for the filter to decay.
 */
export function filterZeroPhase(samples: Float64Array, section: Biquad): void {
  filterInOrder(samples, section, 0, 1);
  filterInOrder(samples, section, samples.length - 1, -1);
}

function filterInOrder(samples: Float64Array, section: Biquad, first: number, step: 1 | -1): void {
  const { b0, b1, b2, a1, a2 } = section;
  let s1 = 0;
  let s2 = 0;
  for (let count = 0, at = first; count < samples.length; count += 1, at += step) {
    const x = samples[at] ?? 0;
    const y = b0 * x + s1;
    s1 = b1 * x - a1 * y + s2;
    s2 = b2 * x - a2 * y;
    samples[at] = y;
  }
}
