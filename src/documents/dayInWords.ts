import { interfaceLanguage } from '../prescription/datesInWords.js';
import { isoDayIn } from '../schedule/wallClock.js';

const long = new Intl.DateTimeFormat(interfaceLanguage, { timeZone: 'UTC', dateStyle: 'long' });

/** A day `YYYY-MM-DD` for reading on paper, for example November 25, 2026. */
export function dayInWords(day: string): string {
  return long.format(Date.parse(`${day}T12:00:00Z`));
}

/** The day of a moment in a zone, for reading. */
export function dayOfMoment(atMs: number, zone: string): string {
  return dayInWords(isoDayIn(atMs, zone));
}
