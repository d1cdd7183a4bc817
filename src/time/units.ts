/**
 * Lengths of time in milliseconds. A day is 24 hours here; a day of the calendar is a matter of
 * `schedule/wallClock.ts`.
 */
export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
