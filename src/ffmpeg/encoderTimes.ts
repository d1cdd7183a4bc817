/** How long the encoder is waited for. */
export type EncoderTimes = {
  /** For what it says about itself, its first question. */
  firstAnswerMs: number;
  /** Having failed to answer that, it is not asked again for so long: no one waits for it twice. */
  againAfterMs: number;
  /** How long it may neither take sound nor give any. */
  silentMs: number;
  /** How long it may work on one piece of work, however much of a sign of life it gives. */
  wholeMs: number;
};

/**
 * It answers within a tenth of a second and encodes a quarter of an hour in about two; these hold for a machine that is
 * a hundred times slower, and a phone that asks for a session waits for longer than the longest silence.
 */
export const usualEncoderTimes: EncoderTimes = {
  firstAnswerMs: 10_000,
  againAfterMs: 30_000,
  silentMs: 30_000,
  wholeMs: 10 * 60_000,
};
