/**
 * The audio room's own unit of work: a piece of mono PCM at a sample position. A session is a list of these.
 * Everything runs at one rate; a millisecond is exactly 24 samples.
 */
export const sampleRateHz = 24_000;
export const samplesPerMs = sampleRateHz / 1000;

/** One sound of a session. */
export type PlacedSound = {
  /** First sample, counted from the start of the session. */
  startSample: number;
  lengthSamples: number;
  /** Names the content: the same key always means the same samples. */
  key: string;
  /** Fetches the samples (-1 to 1) when a segment must be encoded; not called when it is cached. */
  samples: () => Promise<Float32Array>;
};
