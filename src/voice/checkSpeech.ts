import { workError } from '../errors/stillcountError.js';
import type { RawSpeech } from './voice.js';

/** 60 dB below full scale: quieter than the quietest voice, louder than the noise of 16-bit rounding. */
const faintestPeak = 0.001;

/**
 * Returns the speech if it is audible.
 *
 * @throws StillcountError kind `work` when it is empty, silent, damaged, or at a sample rate that no voice has
 */
export function checkSpeech(speech: RawSpeech, from: string, text: string): RawSpeech {
  const { samples, sampleRateHz } = speech;
  let peak = 0;
  for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
  if (Number.isNaN(peak) || peak === Number.POSITIVE_INFINITY) throw noSpeech(from, text, 'damaged samples');
  if (sampleRateHz < 6000 || sampleRateHz > 200_000) {
    throw noSpeech(from, text, `a sample rate of ${sampleRateHz} Hz`);
  }
  if (peak < faintestPeak) throw noSpeech(from, text, samples.length === 0 ? 'no samples' : 'silence');
  return speech;
}

/** Returns the error for words that an engine cannot speak. */
export function noSpeech(from: string, text: string, found: string) {
  const shown = text.length > 60 ? `${text.slice(0, 60)}…` : text;
  return workError({
    message: `${from} gave no usable speech for “${shown}”.`,
    found,
    hint: 'Reword it, respell it under pronunciations, or choose another voice.',
  });
}
