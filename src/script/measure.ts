/** How long a wording takes in the chosen voice. Both numbers are whole milliseconds. */
export type ClipMeasure = {
  durationMs: number;
  /** From the clip's first sample to its perceptual center. */
  beatOffsetMs: number;
};

/** A wording that must be spoken. */
export type Wording = {
  text: string;
  /** Spoken briskly, because it has one second between beats: counts and the words of slow repetitions. */
  crisp: boolean;
};

/** Measures distinct wordings; given by the voice room, so that this room needs no voice to be tested. */
export type MeasureWordings = (wordings: readonly Wording[]) => Promise<ReadonlyMap<string, ClipMeasure>>;
