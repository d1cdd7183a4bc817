/** The one rate of everything that is made, clips and sessions: a millisecond is exactly 24 samples. */
export const sampleRateHz = 24_000;
export const samplesPerMs = sampleRateHz / 1000;
