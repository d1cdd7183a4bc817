/** How long a wording takes in the chosen voice. Both values are whole milliseconds. */
export type ClipMeasure = {
  durationMs: number;
  /** Time from the clip's first sample to its perceptual center. */
  beatOffsetMs: number;
};

/** A wording to be spoken. */
export type Wording = {
  text: string;
  /** Whether to speak it briskly because beats are one second apart: counts and the words of slow repetitions. */
  crisp: boolean;
};

/** Measures distinct wordings. The caller supplies it, so that this room can be tested without a voice. */
export type MeasureWordings = (wordings: readonly Wording[]) => Promise<ReadonlyMap<string, ClipMeasure>>;
