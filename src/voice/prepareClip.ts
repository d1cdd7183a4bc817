import { normalizeLevel } from '../signal/level.js';
import { perceptualCentreSample } from '../signal/perceptualCentre.js';
import { resample } from '../signal/resample.js';
import { sampleRateHz, samplesPerMs } from '../signal/sampleRate.js';
import { trimSilence } from '../signal/trim.js';
import type { RawSpeech } from './voice.js';

/** Version of everything below that shapes a clip. Increase it with any change, so that cached clips are made again. */
export const preparationVersion = 3;

const edgeMs = 15;
/** Speech at this level in every clip brings a whole session, pauses and counts included, to -16 LUFS. */
const clipLufs = -15.4;
/** Leaves room for what MP3 coding adds to a peak, so that the decoded session stays below -1 dBTP. */
const ceilingDbtp = -2.5;

/** One wording, ready to be placed: whole milliseconds long, its beat on a whole millisecond. */
export type PreparedClip = { beatOffsetMs: number; samples: Int16Array };

/**
 * Prepares a clip from raw speech: at 24 kHz, with the silence at both ends removed, leveled, and padded so that both
 * its perceptual center and its end fall on whole milliseconds (the center to the nearest sample).
 */
export function prepareClip(raw: RawSpeech): PreparedClip {
  const trimmed = trimSilence(raw.samples, raw.sampleRateHz, edgeMs);
  const speech = normalizeLevel(resample(trimmed, raw.sampleRateHz, sampleRateHz), sampleRateHz, {
    lufs: clipLufs,
    ceilingDbtp,
  });
  const { padded, beatOffsetMs } = paddedToBeat(speech);
  const samples = new Int16Array(padded.length);
  for (let at = 0; at < padded.length; at += 1) samples[at] = Math.round((padded[at] ?? 0) * 32767);
  return { beatOffsetMs, samples };
}

/** Adds silence before and after, so that beat and end fall on whole milliseconds. */
function paddedToBeat(speech: Float32Array): { padded: Float32Array; beatOffsetMs: number } {
  const beatSample = perceptualCentreSample(speech, sampleRateHz);
  const beatOffsetMs = Math.ceil(beatSample / samplesPerMs) + 1;
  const leadSamples = Math.round(beatOffsetMs * samplesPerMs - beatSample);
  const lengthMs = Math.ceil((leadSamples + speech.length) / samplesPerMs);
  const padded = new Float32Array(lengthMs * samplesPerMs);
  padded.set(speech, leadSamples);
  return { padded, beatOffsetMs };
}
