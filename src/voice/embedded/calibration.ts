/**
 * How fast each voice of the Flite module speaks without stretching, in words per minute.
 *
 * Measured over ten instruction sentences (129 words, from the first to the last sound of each, pauses at commas
 * included): `slt` 35.04 s, `rms` 41.30 s. At stretches of 1.3 and 1.6, rate times stretch stays within 0.5 %.
 */
const naturalWordsPerMinute = { slt: 220.7, rms: 186.9 } as const;

export type EmbeddedVoice = keyof typeof naturalWordsPerMinute;

/** Returns Flite's `duration_stretch` for a rate: 1 is the natural rate, 2 takes twice as long. */
export function durationStretch(voice: EmbeddedVoice, wordsPerMinute: number): number {
  return Number((naturalWordsPerMinute[voice] / wordsPerMinute).toFixed(4));
}
