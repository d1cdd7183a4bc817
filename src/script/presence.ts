/** Length of the soft sound that tells the listener "still here" in a long silence. */
export const presenceDurationMs = 1200;
