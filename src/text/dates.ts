import {
  interfaceLanguage,
  isoDayInWords,
  timeOfDayInWords,
  withPlainSpaces,
} from '../prescription/datesInWords.js';
import { isoDayIn, localMsIn, timeOfDayIn } from '../schedule/wallClock.js';

/**
 * Clock times are computed by the rules of the schedule and formatted as if they were UTC, because Intl uses Node's
 * zone data, which may be older.
 */
const utc = { timeZone: 'UTC' } as const;
const timeFormat = new Intl.DateTimeFormat(interfaceLanguage, {
  ...utc,
  dateStyle: 'medium',
  timeStyle: 'short',
});
const fullFormat = new Intl.DateTimeFormat(interfaceLanguage, { ...utc, dateStyle: 'full' });
const monthFormat = new Intl.DateTimeFormat(interfaceLanguage, { ...utc, month: 'long', year: 'numeric' });

/** Formats the day in a zone, for example Nov 25, 2026. */
export function dayInWords(atMs: number, zone: string): string {
  return dateInWords(isoDayIn(atMs, zone));
}

/** Formats an ISO date, for example Nov 25, 2026. */
export function dateInWords(isoDate: string): string {
  return isoDayInWords(isoDate);
}

/** Formats an ISO date with its weekday, for example Wednesday, November 25, 2026. */
export function fullDateInWords(isoDate: string): string {
  return fullFormat.format(Date.parse(`${isoDate}T12:00:00Z`));
}

/** Formats a month `YYYY-MM`, for example November 2026. */
export function monthInWords(month: string): string {
  return monthFormat.format(Date.parse(`${month}-01T12:00:00Z`));
}

/** Returns the current day in a zone as an ISO date. */
export function isoDay(atMs: number, zone: string): string {
  return isoDayIn(atMs, zone);
}

/** Formats an instant in a zone, for example Nov 25, 2026, 9:05 AM. */
export function timeInWords(atMs: number, zone: string): string {
  return withPlainSpaces(timeFormat.format(localMsIn(atMs, zone)));
}

/** Formats the clock time in a zone, for example 9:05 AM. */
export function clockTimeInWords(atMs: number, zone: string): string {
  return timeOfDayInWords(timeOfDayIn(atMs, zone));
}

/** Formats a duration, for example 14 min 30 s. */
export function lengthInWords(ms: number): string {
  const seconds = Math.round(ms / 1000);
  const minutes = Math.floor(seconds / 60);
  if (minutes === 0) return `${seconds} s`;
  return seconds % 60 === 0 ? `${minutes} min` : `${minutes} min ${seconds % 60} s`;
}
