import { interfaceLanguage } from '../prescription/datesInWords.js';
import { isoDayIn } from '../schedule/wallClock.js';

const long = new Intl.DateTimeFormat(interfaceLanguage, { timeZone: 'UTC', dateStyle: 'long' });

/** Formats a day `YYYY-MM-DD` for documents, for example November 25, 2026. */
export function dayInWords(day: string): string {
  return long.format(Date.parse(`${day}T12:00:00Z`));
}

/** Formats the day of an instant in a zone for documents. */
export function dayOfMoment(atMs: number, zone: string): string {
  return dayInWords(isoDayIn(atMs, zone));
}
