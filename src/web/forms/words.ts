/** By zone: to make a formatter takes a hundred times as long as to use it, and a table has hundreds of days. */
const dayFormats = new Map<string, Intl.DateTimeFormat>();

/** A day in a zone, for example 25 November 2026. */
export function dayInWords(atMs: number, zone: string): string {
  let format = dayFormats.get(zone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-GB', { timeZone: zone, dateStyle: 'long' });
    // Zones are checked where they come in: there are some hundred, and no more.
    dayFormats.set(zone, format);
  }
  return format.format(atMs);
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
  // Swedish writes dates as ISO 8601 does.
  return new Intl.DateTimeFormat('sv-SE', { timeZone: zone, dateStyle: 'short' }).format(atMs);
}

/** A moment in a zone, for example 25 November 2026 at 09:05. */
export function timeInWords(atMs: number, zone: string): string {
  return new Intl.DateTimeFormat('en-GB', { timeZone: zone, dateStyle: 'long', timeStyle: 'short' }).format(
    atMs,
  );
}

/** A length of time for reading, for example 14 min 30 s. */
export function lengthInWords(ms: number): string {
  const seconds = Math.round(ms / 1000);
  const minutes = Math.floor(seconds / 60);
  if (minutes === 0) return `${seconds} s`;
  return seconds % 60 === 0 ? `${minutes} min` : `${minutes} min ${seconds % 60} s`;
}
