/** American English: the language of every date and time on pages and documents. */
export const interfaceLanguage = 'en-US';

/** Days and times are computed by the rules of the schedule and formatted as if they were UTC. */
const utc = { timeZone: 'UTC' } as const;
const medium = new Intl.DateTimeFormat(interfaceLanguage, { ...utc, dateStyle: 'medium' });
const clock = new Map<string, Intl.DateTimeFormat>();

/** Formats a day `YYYY-MM-DD` for pages, for example Nov 25, 2026. */
export function isoDayInWords(day: string): string {
  return medium.format(Date.parse(`${day}T12:00:00Z`));
}

/** Formats a time of day `HH:MM`, for example 5:30 PM. */
export function timeOfDayInWords(time: string, language = interfaceLanguage): string {
  const format = clock.get(language) ?? new Intl.DateTimeFormat(language, { ...utc, timeStyle: 'short' });
  clock.set(language, format);
  return withPlainSpaces(format.format(Date.parse(`1970-01-01T${time}:00Z`)));
}

/** Replaces the narrow space that some versions of Node.js put before AM and PM, because not every font has it. */
export function withPlainSpaces(text: string): string {
  return text.replaceAll('\u202f', ' ');
}
