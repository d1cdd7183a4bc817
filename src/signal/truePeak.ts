const targetRateHz = 192_000;
const tapsPerSide = 8;
const stretchSamples = 8;

/**
 * Largest level of the continuous wave behind the samples, in dBTP (ITU-R BS.1770-4, annex 2: read at about
 * 192 kHz, so four times the rate at 48 kHz and eight times at 24 kHz). -Infinity for silence.
 */
export function truePeakDbtp(samples: Float32Array, sampleRateHz: number): number {
  const peak = truePeak(samples, Math.max(1, Math.ceil(targetRateHz / sampleRateHz)));
  return peak === 0 ? -Infinity : 20 * Math.log10(peak);
}

function truePeak(samples: Float32Array, factor: number): number {
  const phases = interpolationPhases(factor);
  const largestGain = Math.max(...phases.map((taps) => taps.reduce((sum, tap) => sum + Math.abs(tap), 0)));
  let peak = 0;
  for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
  for (let start = 0; start < samples.length; start += stretchSamples) {
    const end = Math.min(start + stretchSamples, samples.length);
    // Quiet stretches cannot hold the peak; leaving them out changes nothing but the time it takes.
    if (largestNear(samples, start, end) * largestGain <= peak) continue;
    for (const taps of phases) peak = Math.max(peak, largestBetween(samples, start, end, taps));
  }
  return peak;
}

function largestNear(samples: Float32Array, start: number, end: number): number {
  let largest = 0;
  const last = Math.min(end + tapsPerSide, samples.length);
  for (let i = Math.max(0, start - tapsPerSide); i < last; i += 1) {
    largest = Math.max(largest, Math.abs(samples[i] ?? 0));
  }
  return largest;
}

function largestBetween(samples: Float32Array, start: number, end: number, taps: Float64Array): number {
  let largest = 0;
  for (let i = start; i < end; i += 1) {
    let sum = 0;
    for (let tap = 0; tap < taps.length; tap += 1) {
      sum += (taps[tap] ?? 0) * (samples[i + tap - tapsPerSide + 1] ?? 0);
    }
    largest = Math.max(largest, Math.abs(sum));
  }
  return largest;
}

/** One set of taps for each point between two samples: a sine cardinal under a raised-cosine window. */
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
