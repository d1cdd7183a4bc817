import { isoDayIn, localMsIn } from '../schedule/wallClock.js';

/**
 * What clocks show is worked out by the rules of the schedule and written as if it were UTC: Intl goes by the zone data
 * of Node, which may be older.
 */
const dayFormat = new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', dateStyle: 'long' });
const timeFormat = new Intl.DateTimeFormat('en-GB', {
  timeZone: 'UTC',
  dateStyle: 'long',
  timeStyle: 'short',
});

/** A day in a zone, for example 25 November 2026. */
export function dayInWords(atMs: number, zone: string): string {
  return dayFormat.format(localMsIn(atMs, zone));
}

/** An ISO date for reading, for example 25 November 2026. */
export function dateInWords(isoDate: string): string {
  return dayInWords(Date.parse(`${isoDate}T12:00:00Z`), 'UTC');
}

/** The same with its weekday, for example Wednesday 25 November 2026. */
export function fullDateInWords(isoDate: string): string {
  const atMs = Date.parse(`${isoDate}T12:00:00Z`);
  return new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', dateStyle: 'full' }).format(atMs);
}

/** A month `YYYY-MM` for reading, for example November 2026. */
export function monthInWords(month: string): string {
  const atMs = Date.parse(`${month}-01T12:00:00Z`);
  return new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', month: 'long', year: 'numeric' }).format(atMs);
}

/** The day that it is in a zone, as ISO date. */
export function isoDay(atMs: number, zone: string): string {
  return isoDayIn(atMs, zone);
}

/** A moment in a zone, for example 25 November 2026 at 09:05. */
export function timeInWords(atMs: number, zone: string): string {
  return timeFormat.format(localMsIn(atMs, zone));
}

/** A length of time for reading, for example 14 min 30 s. */
export function lengthInWords(ms: number): string {
  const seconds = Math.round(ms / 1000);
  const minutes = Math.floor(seconds / 60);
  if (minutes === 0) return `${seconds} s`;
  return seconds % 60 === 0 ? `${minutes} min` : `${minutes} min ${seconds % 60} s`;
}
