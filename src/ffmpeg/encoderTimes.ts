/** How long to wait for the encoder. */
export type EncoderTimes = {
  /** How long to wait for its version, which is checked first. */
  firstAnswerMs: number;
  /** How long not to ask again after it failed to answer that, so that nobody waits for it twice. */
  againAfterMs: number;
  /** How long it may neither accept sound nor produce any. */
  silentMs: number;
  /** How long one piece of work may take, whatever signs of life it shows. */
  wholeMs: number;
};

/**
 * The encoder answers within a tenth of a second and encodes a quarter of an hour in about two seconds. These times
 * suit a machine that is a hundred times slower, and a phone that requests a session waits longer than the longest
 * silence.
 */
export const usualEncoderTimes: EncoderTimes = {
  firstAnswerMs: 10_000,
  againAfterMs: 30_000,
  silentMs: 30_000,
  wholeMs: 10 * 60_000,
};
