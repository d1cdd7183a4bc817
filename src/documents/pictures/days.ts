import { interfaceLanguage } from '../../prescription/datesInWords.js';
import { dayMs } from '../../time/units.js';

/** Returns the number of a day, counted from January 1, 1970. */
export function dayNumber(day: string): number {
  return Math.round(Date.parse(`${day}T00:00:00Z`) / dayMs);
}

const short = new Intl.DateTimeFormat(interfaceLanguage, { timeZone: 'UTC', day: 'numeric', month: 'short' });
const shortWithYear = new Intl.DateTimeFormat(interfaceLanguage, {
  timeZone: 'UTC',
  day: 'numeric',
  month: 'short',
  year: 'numeric',
});

/** Formats a day briefly for a picture, with its year where the picture shows more than one. */
export function dayLabel(number: number, { withYear }: { withYear: boolean }): string {
  return (withYear ? shortWithYear : short).format(number * dayMs);
}

/** Returns whether two days are in different years. */
export function inSeveralYears(first: number, last: number): boolean {
  return yearOf(first) !== yearOf(last);
}

function yearOf(number: number): number {
  return new Date(number * dayMs).getUTCFullYear();
}
