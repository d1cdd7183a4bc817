import { isoDayIn } from '../schedule/wallClock.js';

const long = new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', dateStyle: 'long' });

/** A day `YYYY-MM-DD` for reading, for example 25 November 2026. */
export function dayInWords(day: string): string {
  return long.format(Date.parse(`${day}T12:00:00Z`));
}

/** The day of a moment in a zone, for reading. */
export function dayOfMoment(atMs: number, zone: string): string {
  return dayInWords(isoDayIn(atMs, zone));
}
