/**
 * Durations in milliseconds. A day is 24 hours here; `schedule/wallClock.ts` handles calendar days.
 */
export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
