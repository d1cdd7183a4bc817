import { bandPassSection, filterZeroPhase, lowPassSection } from './zeroPhase.js';

const vowelBand = { lowHz: 700, highHz: 1300 };
const hissBand = { lowHz: 4000, highHz: 8000 };
const envelopeHz = 10;
const riseFrom = 0.1;
const riseTo = 0.9;
/**
 * How high the first rise must reach to be the beat, as a share of the highest. Over 27 cue words in three voices
 * the first vowel reached 0.18 or more, a murmured consonant before it 0.13 or less.
 */
const clearShare = 0.15;
/**
 * At the peak of a hiss or a burst (the first sounds of "six" and "ten") the upper band is stronger than the vowel
 * band by this or more. In the same words the ratio was 0.9 or less for vowels, 4 or more for bursts.
 */
const hissRatio = 2;
/** How far the envelope must fall again, as a share of the peak, before that peak is over. */
const peakOverShare = 0.8;
/** A beat later than this in a clip is none that a listener could follow; the rest need not be looked at. */
const mostSeconds = 2;
/** The 10 Hz filter has rung out to less than a thousandth after this. */
const ringingSeconds = 0.25;

/**
 * The moment at which a spoken word is heard to happen, as a sample position (fractional) from the first sample.
 *
 * Rule of Cummins & Port 1998, J Phon 26:145-171, appendix A, after Scott 1993: band-pass 700-1300 Hz (first
 * order), rectify, low-pass 10 Hz, then midway between the moments at 10 % and 90 % of the rise into the vowel.
 * Both filters run forwards and backwards here, so that their delay does not count.
 *
 * Of a longer word or a phrase the first clear rise counts: the first peak of the envelope that reaches 15 % of
 * its highest one and is not that of a hiss or a burst; a peak is over once the envelope has fallen to 80 % of it.
 * These shares are our choice, since the rule was made for single syllables.
 *
 * Only the first two seconds are looked at. 0 for silence.
 */
export function perceptualCentreSample(samples: Float32Array, sampleRateHz: number): number {
  const start = samples.subarray(0, Math.round(mostSeconds * sampleRateHz));
  const envelope = bandEnvelope(start, sampleRateHz, vowelBand);
  const hiss = bandEnvelope(start, sampleRateHz, hissBand);
  const peakAt = firstClearPeak(envelope, hiss, start.length);
  const peak = envelope[peakAt] ?? 0;
  if (peak <= 0) return 0;
  let base = peak;
  for (let at = 0; at < peakAt; at += 1) base = Math.min(base, envelope[at] ?? 0);
  const fullAt = lastCrossing(envelope, peakAt, base + riseTo * (peak - base));
  const startAt = lastCrossing(envelope, Math.floor(fullAt), base + riseFrom * (peak - base));
  return (startAt + fullAt) / 2;
}

type Band = { lowHz: number; highHz: number };

function bandEnvelope(samples: Float32Array, sampleRateHz: number, band: Band): Float64Array {
  const envelope = new Float64Array(samples.length + Math.ceil(ringingSeconds * sampleRateHz));
  envelope.set(samples);
  const highHz = Math.min(band.highHz, 0.45 * sampleRateHz);
  filterZeroPhase(envelope, bandPassSection(band.lowHz, highHz, sampleRateHz));
  for (let at = 0; at < envelope.length; at += 1) envelope[at] = Math.abs(envelope[at] ?? 0);
  filterZeroPhase(envelope, lowPassSection(envelopeHz, sampleRateHz));
  return envelope;
}

/** The first clear peak; of a sound that is all hiss, the highest. */
function firstClearPeak(envelope: Float64Array, hiss: Float64Array, length: number): number {
  let highestAt = 0;
  for (let at = 0; at < length; at += 1) {
    if ((envelope[at] ?? 0) > (envelope[highestAt] ?? 0)) highestAt = at;
  }
  const clear = clearShare * (envelope[highestAt] ?? 0);
  let peakAt = 0;
  for (let at = 0; at < length; at += 1) {
    const value = envelope[at] ?? 0;
    const peak = envelope[peakAt] ?? 0;
    if (value > peak) peakAt = at;
    else if (value < peakOverShare * peak) {
      if (peak >= clear && (hiss[peakAt] ?? 0) < hissRatio * peak) return peakAt;
      peakAt = at;
    }
  }
  return highestAt;
}

/** Last moment up to `from` at which the envelope rises through the level, between two samples; 0 if never. */
function lastCrossing(envelope: Float64Array, from: number, level: number): number {
  for (let at = from; at > 0; at -= 1) {
    const before = envelope[at - 1] ?? 0;
    if (before < level) {
      const after = envelope[at] ?? 0;
      return after > before ? at - 1 + (level - before) / (after - before) : at;
    }
  }
  return 0;
}
