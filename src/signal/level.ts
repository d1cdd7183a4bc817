import { limitPeaks } from './limiter.js';
import { integratedLoudness } from './loudness.js';

const closeEnoughLu = 0.2;
const mostRounds = 2;

/**
 * Brings a sound to a target gated loudness (ITU-R BS.1770-4) with its true peaks below a ceiling. Limiting reduces the
 * loudness slightly, so gain and limiter are repeated until both are met or the rounds are used up. The ceiling always
 * holds; the loudness is as close as the ceiling allows.
 *
 * @param lufs target loudness of the sound by itself
 * @param ceilingDbtp highest true peak
 */
export function normalizeLevel(
  samples: Float32Array,
  sampleRateHz: number,
  wanted: { lufs: number; ceilingDbtp: number },
): Float32Array {
  let gainDb = wanted.lufs - integratedLoudness(samples, sampleRateHz);
  if (!Number.isFinite(gainDb)) return samples;
  const limited = () => limitPeaks(amplified(samples, gainDb), sampleRateHz, wanted.ceilingDbtp);
  let levelled = limited();
  for (let again = 1; again < mostRounds; again += 1) {
    const missingLu = wanted.lufs - integratedLoudness(levelled, sampleRateHz);
    if (missingLu < closeEnoughLu) break;
    gainDb += missingLu;
    levelled = limited();
  }
  return levelled;
}

function amplified(samples: Float32Array, gainDb: number): Float32Array {
  const gain = 10 ** (gainDb / 20);
  const louder = new Float32Array(samples.length);
  for (let at = 0; at < samples.length; at += 1) louder[at] = (samples[at] ?? 0) * gain;
  return louder;
}
