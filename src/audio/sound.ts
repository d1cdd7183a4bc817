/** Mono PCM at a sample position, the audio room's unit of work: a session is a list of these. */
export type PlacedSound = {
  /** First sample, counted from the start of the session. */
  startSample: number;
  lengthSamples: number;
  /** Identifies the content: equal keys always mean the same samples. */
  key: string;
  /** Fetches the samples (-1 to 1) when a segment must be encoded; not called when it is cached. */
  samples: () => Promise<Float32Array>;
};
