/** Number of zero crossings of the sinc function on each side of the middle tap. */
const crossingsPerSide = 16;
/**
 * Corner frequency as a share of the new rate's Nyquist frequency, when that is the lower one; the rest is the
 * transition band.
 */
const passShare = 0.94;
const kaiserBeta = 8;

/**
 * Converts a sound to another sample rate by band-limited interpolation: a sinc function under a Kaiser window, with
 * one set of taps for each phase of the whole-number ratio (Crochiere & Rabiner 1983, Multirate Digital Signal
 * Processing, chapter on sampling rate conversion). There is no delay: sample n of the input lies at n x toHz / fromHz.
 * Both rates are whole numbers of hertz.
 */
export function resample(samples: Float32Array, fromHz: number, toHz: number): Float32Array {
  if (fromHz === toHz) return samples;
  const common = greatestCommonDivisor(fromHz, toHz);
  const up = toHz / common;
  const down = fromHz / common;
  const { reach, phases } = filterFor(up, down);
  const padded = new Float64Array(samples.length + 2 * reach);
  padded.set(samples, reach);
  const out = new Float32Array(Math.round((samples.length * up) / down));
  for (let n = 0, whole = 0, phase = 0; n < out.length; n += 1) {
    const taps = phases[phase];
    if (taps === undefined) break;
    out[n] = up > down && phase === 0 ? (padded[whole + reach] ?? 0) : dotProduct(taps, padded, whole);
    phase += down;
    whole += Math.floor(phase / up);
    phase %= up;
  }
  return out;
}

/**
 * Computes a dot product with four independent sums, because each addition has to wait for the previous one of its sum.
 */
function dotProduct(taps: Float64Array, samples: Float64Array, from: number): number {
  let [a, b, c, d] = [0, 0, 0, 0];
  for (let tap = 0; tap < taps.length; tap += 4) {
    a += (taps[tap] ?? 0) * (samples[from + tap] ?? 0);
    b += (taps[tap + 1] ?? 0) * (samples[from + tap + 1] ?? 0);
    c += (taps[tap + 2] ?? 0) * (samples[from + tap + 2] ?? 0);
    d += (taps[tap + 3] ?? 0) * (samples[from + tap + 3] ?? 0);
  }
  return a + b + c + d;
}

type RatioFilter = { reach: number; phases: readonly Float64Array[] };
const filters = new Map<string, RatioFilter>();

function filterFor(up: number, down: number): RatioFilter {
  const ratio = `${up}/${down}`;
  const known = filters.get(ratio);
  if (known !== undefined) return known;
  const corner = up > down ? 1 : (up / down) * passShare;
  // Even, so that the number of taps of both sides is a multiple of four.
  const reach = 2 * Math.ceil(crossingsPerSide / corner / 2);
  const made = { reach, phases: phaseTaps(up, reach, corner) };
  filters.set(ratio, made);
  return made;
}

/** Returns the taps for output samples that lie phase / up after an input sample; tap `reach` is that input sample. */
function phaseTaps(up: number, reach: number, corner: number): Float64Array[] {
  return Array.from({ length: up }, (_, phase) => {
    const taps = new Float64Array(2 * reach);
    let sum = 0;
    for (let tap = 0; tap < taps.length; tap += 1) {
      const distance = tap - reach - phase / up;
      const angle = Math.PI * distance * corner;
      const value = (angle === 0 ? 1 : Math.sin(angle) / angle) * kaiser(distance / reach);
      taps[tap] = value;
      sum += value;
    }
    // Every phase has the same sum, so that the level of a steady sound does not ripple from phase to phase.
    return taps.map((value) => value / sum);
  });
}

function kaiser(place: number): number {
  return Math.abs(place) >= 1
    ? 0
    : besselI0(kaiserBeta * Math.sqrt(1 - place * place)) / besselI0(kaiserBeta);
}

/** Computes the modified Bessel function of the first kind, order 0, by its power series. */
function besselI0(x: number): number {
  let sum = 1;
  let term = 1;
  for (let k = 1; term > sum * 1e-12; k += 1) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}
