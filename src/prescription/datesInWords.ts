/** English as it is written in the United States: the language of every date and time on pages and documents. */
export const interfaceLanguage = 'en-US';

/** Days and times are worked out by the rules of the schedule and written as if they were UTC. */
const utc = { timeZone: 'UTC' } as const;
const medium = new Intl.DateTimeFormat(interfaceLanguage, { ...utc, dateStyle: 'medium' });
const clock = new Map<string, Intl.DateTimeFormat>();

/** A day `YYYY-MM-DD` as a page shows it, for example Nov 25, 2026. */
export function isoDayInWords(day: string): string {
  return medium.format(Date.parse(`${day}T12:00:00Z`));
}

/** A time of day `HH:MM` as it is said, for example 5:30 PM. */
export function timeOfDayInWords(time: string, language = interfaceLanguage): string {
  const format = clock.get(language) ?? new Intl.DateTimeFormat(language, { ...utc, timeStyle: 'short' });
  clock.set(language, format);
  return withPlainSpaces(format.format(Date.parse(`1970-01-01T${time}:00Z`)));
}

/** Some versions of Node.js put a narrow space before AM and PM, which not every font has. */
export function withPlainSpaces(text: string): string {
  return text.replaceAll('\u202f', ' ');
}
