/** How long a wording takes in the chosen voice. Both numbers are whole milliseconds. */
export type ClipMeasure = {
  durationMs: number;
  /** From the clip's first sample to its perceptual centre. */
  beatOffsetMs: number;
};

/** Measures distinct wordings; given by the voice room, so that this room needs no voice to be tested. */
export type MeasureWordings = (texts: readonly string[]) => Promise<ReadonlyMap<string, ClipMeasure>>;
