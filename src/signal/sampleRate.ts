/** The sample rate of all clips and sessions: a millisecond is exactly 24 samples. */
export const sampleRateHz = 24_000;
export const samplesPerMs = sampleRateHz / 1000;
