import {
  interfaceLanguage,
  isoDayInWords,
  timeOfDayInWords,
  withPlainSpaces,
} from '../prescription/datesInWords.js';
import { isoDayIn, localMsIn, timeOfDayIn } from '../schedule/wallClock.js';

/**
 * What clocks show is worked out by the rules of the schedule and written as if it were UTC: Intl goes by the zone data
 * of Node, which may be older.
 */
const utc = { timeZone: 'UTC' } as const;
const timeFormat = new Intl.DateTimeFormat(interfaceLanguage, {
  ...utc,
  dateStyle: 'medium',
  timeStyle: 'short',
});
const fullFormat = new Intl.DateTimeFormat(interfaceLanguage, { ...utc, dateStyle: 'full' });
const monthFormat = new Intl.DateTimeFormat(interfaceLanguage, { ...utc, month: 'long', year: 'numeric' });

/** A day in a zone, for example Nov 25, 2026. */
export function dayInWords(atMs: number, zone: string): string {
  return dateInWords(isoDayIn(atMs, zone));
}

/** An ISO date for reading, for example Nov 25, 2026. */
export function dateInWords(isoDate: string): string {
  return isoDayInWords(isoDate);
}

/** The same with its weekday, for example Wednesday, November 25, 2026. */
export function fullDateInWords(isoDate: string): string {
  return fullFormat.format(Date.parse(`${isoDate}T12:00:00Z`));
}

/** A month `YYYY-MM` for reading, for example November 2026. */
export function monthInWords(month: string): string {
  return monthFormat.format(Date.parse(`${month}-01T12:00:00Z`));
}

/** The day that it is in a zone, as ISO date. */
export function isoDay(atMs: number, zone: string): string {
  return isoDayIn(atMs, zone);
}

/** A moment in a zone, for example Nov 25, 2026, 9:05 AM. */
export function timeInWords(atMs: number, zone: string): string {
  return withPlainSpaces(timeFormat.format(localMsIn(atMs, zone)));
}

/** What clocks in a zone show at a moment, for example 9:05 AM. */
export function clockTimeInWords(atMs: number, zone: string): string {
  return timeOfDayInWords(timeOfDayIn(atMs, zone));
}

/** A length of time for reading, for example 14 min 30 s. */
export function lengthInWords(ms: number): string {
  const seconds = Math.round(ms / 1000);
  const minutes = Math.floor(seconds / 60);
  if (minutes === 0) return `${seconds} s`;
  return seconds % 60 === 0 ? `${minutes} min` : `${minutes} min ${seconds % 60} s`;
}
