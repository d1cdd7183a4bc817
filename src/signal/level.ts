import { limitPeaks } from './limiter.js';
import { integratedLoudness } from './loudness.js';

const closeEnoughLu = 0.2;
const mostRounds = 2;

/**
 * The sound at a wanted gated loudness (ITU-R BS.1770-4) with its true peaks under a ceiling. Limiting takes a
 * little loudness away, so gain and limiter are tried again until both hold, or the rounds are used up: the
 * ceiling always holds, the loudness as nearly as it allows.
 *
 * @param lufs wanted loudness of the sound by itself.
 * @param ceilingDbtp highest true peak.
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
