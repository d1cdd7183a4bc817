import { interfaceLanguage } from '../../prescription/datesInWords.js';
import { dayMs } from '../../time/units.js';

/** Which day it is, counted from January 1, 1970. */
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

/** A day as short as a picture needs it, with its year where the picture shows more than one. */
export function dayLabel(number: number, { withYear }: { withYear: boolean }): string {
  return (withYear ? shortWithYear : short).format(number * dayMs);
}

/** Whether two days lie in different years. */
export function inSeveralYears(first: number, last: number): boolean {
  return yearOf(first) !== yearOf(last);
}

function yearOf(number: number): number {
  return new Date(number * dayMs).getUTCFullYear();
}
