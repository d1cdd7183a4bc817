import { bandPassSection, filterZeroPhase, highPassSection, lowPassSection } from './zeroPhase.js';

const vowelBand = { lowHz: 700, highHz: 1300 };
const hissBand = { lowHz: 4000, highHz: 8000 };
/** Soft tones can lie under speech, and a first-order band-pass alone would let too much of them through. */
const hummingBelowHz = 550;
const envelopeHz = 10;
const riseFrom = 0.1;
const riseTo = 0.9;
/**
 * How high the first rise must reach, as a share of the highest level. In the cue words of three voices the first vowel
 * goes well above this, and a murmured consonant before it stays below.
 */
const clearShare = 0.15;
/**
 * In a hiss or a burst (the first sounds of "six" and "ten") the upper band is stronger than the vowel band by at least
 * this ratio. In the same words the ratio was 0.9 or less for vowels, 4 or more for bursts.
 */
const hissRatio = 1.4;
/**
 * The rise into a vowel ends within this time. The span is fixed, because the end of a peak would depend on the
 * smallest ripple.
 */
const riseMs = 120;
/** A listener could not follow a beat later than this in a clip, so the rest is not searched. */
const mostSeconds = 2;
/**
 * After this time the response of the 10 Hz filter is below a thousandth. This much silence is added on both sides, so
 * that any silence already there makes no difference.
 */
const ringingSeconds = 0.25;

/**
 * Returns the perceptual center of a spoken word, the moment at which listeners hear it happen, as a fractional sample
 * position from the first sample.
 *
 * Rule of Cummins & Port 1998, J Phon 26:145-171, appendix A, after Scott 1993: band-pass 700-1300 Hz (first order),
 * rectify, low-pass 10 Hz, then midway between the moments at 10 % and 90 % of the rise into the vowel. Both filters
 * run forward and backward here, so that they add no delay.
 *
 * In a longer word or a phrase the first clear rise counts: the 120 ms from where the envelope first reaches 15 % of
 * its highest level in a sound that is not a hiss or a burst. Instead of two moments, the mean of the moments at all
 * levels from 10 % to 90 % is used, which is the same for an even rise and changes little with noise. The high-pass in
 * front, these two numbers and the mean are our choice; the rule was made for single syllables.
 *
 * Only the first two seconds are searched. 0 for silence.
 */
export function perceptualCentreSample(samples: Float32Array, sampleRateHz: number): number {
  const start = samples.subarray(0, Math.round(mostSeconds * sampleRateHz));
  const silenceSamples = Math.ceil(ringingSeconds * sampleRateHz);
  const surrounded = new Float64Array(start.length + 2 * silenceSamples);
  surrounded.set(start, silenceSamples);
  filterZeroPhase(surrounded, highPassSection(hummingBelowHz, sampleRateHz));
  const envelope = bandEnvelope(surrounded, sampleRateHz, vowelBand);
  const hiss = bandEnvelope(surrounded, sampleRateHz, hissBand);
  const clearAt = firstClear(envelope, hiss);
  if (clearAt === null) return 0;
  const middle = middleOfRise(envelope, clearAt, Math.round((riseMs * sampleRateHz) / 1000));
  return Math.max(0, middle - silenceSamples);
}

/**
 * Returns the mean of the moments at which the rise around a position passes each level: the last such moment before
 * the position, or the first after it.
 */
function middleOfRise(envelope: Float64Array, clearAt: number, spanSamples: number): number {
  const end = Math.min(clearAt + spanSamples, envelope.length);
  let top = 0;
  for (let at = clearAt; at < end; at += 1) top = Math.max(top, envelope[at] ?? 0);
  const notPassed = (level: number) =>
    1 - Math.min(1, Math.max(0, (level / top - riseFrom) / (riseTo - riseFrom)));
  let middle = clearAt;
  let highest = 0;
  for (let at = clearAt; at < end; at += 1) {
    highest = Math.max(highest, envelope[at] ?? 0);
    middle += notPassed(highest);
  }
  let lowest = envelope[clearAt] ?? 0;
  for (let at = clearAt - 1; at >= 0; at -= 1) {
    lowest = Math.min(lowest, envelope[at] ?? 0);
    middle -= 1 - notPassed(lowest);
  }
  return middle;
}

type Band = { lowHz: number; highHz: number };

function bandEnvelope(samples: Float64Array, sampleRateHz: number, band: Band): Float64Array {
  const envelope = samples.slice();
  const highHz = Math.min(band.highHz, 0.45 * sampleRateHz);
  filterZeroPhase(envelope, bandPassSection(band.lowHz, highHz, sampleRateHz));
  for (let at = 0; at < envelope.length; at += 1) envelope[at] = Math.abs(envelope[at] ?? 0);
  filterZeroPhase(envelope, lowPassSection(envelopeHz, sampleRateHz));
  return envelope;
}

/**
 * Returns where the envelope first rises clearly; for a sound that is all hiss, its highest point; null for silence.
 */
function firstClear(envelope: Float64Array, hiss: Float64Array): number | null {
  let highestAt = 0;
  for (let at = 0; at < envelope.length; at += 1) {
    if ((envelope[at] ?? 0) > (envelope[highestAt] ?? 0)) highestAt = at;
  }
  const clear = clearShare * (envelope[highestAt] ?? 0);
  if (clear === 0) return null;
  for (let at = 0; at < envelope.length; at += 1) {
    const value = envelope[at] ?? 0;
    if (value >= clear && (hiss[at] ?? 0) < hissRatio * value) return at;
  }
  return highestAt;
}
