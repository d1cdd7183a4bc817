const targetRateHz = 192_000;
const tapsPerSide = 8;
/** At least as many samples as there are taps on one side. */
const stretchSamples = 8;

/**
 * Returns the largest level of the continuous wave behind the samples, in dBTP (ITU-R BS.1770-4, annex 2: read at about
 * 192 kHz, so four times the rate at 48 kHz and eight times at 24 kHz). -Infinity for silence.
 */
export function truePeakDbtp(samples: Float32Array, sampleRateHz: number): number {
  const peak = truePeak(samples, Math.max(1, Math.ceil(targetRateHz / sampleRateHz)));
  return peak === 0 ? -Infinity : 20 * Math.log10(peak);
}

function truePeak(samples: Float32Array, factor: number): number {
  const phases = interpolationPhases(factor);
  const nextTo = [tapsPerSide - 1, tapsPerSide];
  const gainOf = (isCounted: (tap: number) => boolean) =>
    Math.max(
      ...phases.map((taps) => taps.reduce((sum, tap, at) => sum + (isCounted(at) ? Math.abs(tap) : 0), 0)),
    );
  const largestGain = gainOf(() => true);
  const gainNext = gainOf((tap) => nextTo.includes(tap));
  const gainBeyond = gainOf((tap) => !nextTo.includes(tap));
  const largest = largestOfStretches(samples);
  let peak = largest.reduce((most, level) => Math.max(most, level), 0);
  for (let stretch = 0; stretch < largest.length; stretch += 1) {
    // Quiet stretches cannot contain the peak; skipping them only saves time.
    const near = Math.max(largest[stretch - 1] ?? 0, largest[stretch] ?? 0, largest[stretch + 1] ?? 0);
    if (near * largestGain <= peak) continue;
    const end = Math.min((stretch + 1) * stretchSamples, samples.length);
    for (let i = stretch * stretchSamples; i < end; i += 1) {
      const next = Math.max(Math.abs(samples[i] ?? 0), Math.abs(samples[i + 1] ?? 0));
      if (next * gainNext + near * gainBeyond > peak)
        peak = Math.max(peak, largestBetween(samples, i, phases));
    }
  }
  return peak;
}

/**
 * Returns the level of the largest sample in each stretch. An interpolation reaches no further than the neighboring
 * stretches.
 */
function largestOfStretches(samples: Float32Array): Float32Array {
  const largest = new Float32Array(Math.ceil(samples.length / stretchSamples));
  for (let stretch = 0; stretch < largest.length; stretch += 1) {
    const end = Math.min((stretch + 1) * stretchSamples, samples.length);
    let level = 0;
    for (let i = stretch * stretchSamples; i < end; i += 1) {
      const sample = Math.abs(samples[i] ?? 0);
      if (sample > level) level = sample;
    }
    largest[stretch] = level;
  }
  return largest;
}

/** Returns the largest level at the points between a sample and the next one. */
function largestBetween(samples: Float32Array, at: number, phases: readonly Float64Array[]): number {
  const first = at - tapsPerSide + 1;
  let largest = 0;
  for (const taps of phases) {
    let sum = 0;
    for (let tap = 0; tap < taps.length; tap += 1) sum += (taps[tap] ?? 0) * (samples[first + tap] ?? 0);
    largest = Math.max(largest, Math.abs(sum));
  }
  return largest;
}

/** Returns one set of taps for each point between two samples: a sinc function under a raised-cosine window. */
function interpolationPhases(factor: number): Float64Array[] {
  const phases: Float64Array[] = [];
  for (let phase = 1; phase < factor; phase += 1) {
    const taps = new Float64Array(2 * tapsPerSide);
    for (let tap = 0; tap < taps.length; tap += 1) {
      const distance = tap - tapsPerSide + 1 - phase / factor;
      const window = 0.5 + 0.5 * Math.cos((Math.PI * distance) / tapsPerSide);
      taps[tap] = (window * Math.sin(Math.PI * distance)) / (Math.PI * distance);
    }
    phases.push(taps);
  }
  return phases;
}
