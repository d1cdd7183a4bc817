/** Length of the soft sound that says "still here" in a long silence. */
export const presenceDurationMs = 1200;
