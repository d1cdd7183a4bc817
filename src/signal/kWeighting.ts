/** A second-order filter section: y[n] = b0 x[n] + b1 x[n-1] + b2 x[n-2] - a1 y[n-1] - a2 y[n-2]. */
export type Biquad = { b0: number; b1: number; b2: number; a1: number; a2: number };

/**
 * Returns the two sections of the K-weighting filter (ITU-R BS.1770-4, annex 1, tables 1 and 2) for any sample rate.
 *
 * The standard lists coefficients for 48 kHz only. They are the bilinear transform of a high shelf and a high-pass
 * whose corner, gain and quality follow from the listed numbers. Those constants (from memory of open implementations;
 * a test compares the 48 kHz result with the listed table) give the coefficients for every other rate.
 */
export function kWeightingSections(sampleRateHz: number): readonly [shelf: Biquad, highPass: Biquad] {
  return [shelf(sampleRateHz), highPass(sampleRateHz)];
}

function shelf(sampleRateHz: number): Biquad {
  const cornerHz = 1681.974450955533;
  const gainDb = 3.999843853973347;
  const quality = 0.7071752369554196;
  const k = Math.tan((Math.PI * cornerHz) / sampleRateHz);
  const high = 10 ** (gainDb / 20);
  const band = high ** 0.4996667741545416;
  const a0 = 1 + k / quality + k * k;
  return {
    b0: (high + (band * k) / quality + k * k) / a0,
    b1: (2 * (k * k - high)) / a0,
    b2: (high - (band * k) / quality + k * k) / a0,
    a1: (2 * (k * k - 1)) / a0,
    a2: (1 - k / quality + k * k) / a0,
  };
}

function highPass(sampleRateHz: number): Biquad {
  const cornerHz = 38.13547087602444;
  const quality = 0.5003270373238773;
  const k = Math.tan((Math.PI * cornerHz) / sampleRateHz);
  const a0 = 1 + k / quality + k * k;
  return { b0: 1, b1: -2, b2: 1, a1: (2 * (k * k - 1)) / a0, a2: (1 - k / quality + k * k) / a0 };
}
