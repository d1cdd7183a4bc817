import { Temporal } from 'temporal-polyfill';

/**
 * Wall-clock time in a patient's IANA zone. A day is `YYYY-MM-DD`, a time of day `HH:MM`, an instant epoch
 * milliseconds. A day, time or zone that does not exist is a RangeError: all three are checked where they come in.
 */

/**
 * The instant at which clocks in a zone show a time of a day (rule R1). Where clocks show it twice, the first of the
 * two, as in RFC 5545, section 3.3.5; where they leap over it, the first instant after the leap, which is our own
 * rule: nobody is called half an hour late because of a clock change.
 */
export function wallClockInstant(day: string, time: string, zone: string): number {
  const local = Temporal.PlainDateTime.from(`${day}T${time}`);
  const found = local.toZonedDateTime(zone, { disambiguation: 'compatible' });
  if (found.toPlainDateTime().equals(local)) return found.epochMilliseconds;
  const beforeLeap = local.toZonedDateTime(zone, { disambiguation: 'earlier' });
  return (beforeLeap.getTimeZoneTransition('next') ?? found).epochMilliseconds;
}

/** The next instant at which clocks in a zone show a time of day; they may show it twice, or leap over it, as above. */
export function nextShowing(afterMs: number, time: string, zone: string): number {
  const today = isoDayIn(afterMs, zone);
  const instants = [today, addDays(today, 1)].flatMap((day) => {
    const first = wallClockInstant(day, time, zone);
    if (!isShownTwice(first, zone)) return [first];
    const local = Temporal.PlainDateTime.from(`${day}T${time}`);
    return [first, local.toZonedDateTime(zone, { disambiguation: 'later' }).epochMilliseconds];
  });
  return Math.min(...instants.filter((atMs) => atMs > afterMs));
}

/** The day that it is in a zone at an instant. */
export function isoDayIn(atMs: number, zone: string): string {
  return Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainDate().toString();
}

/** The time of day that clocks in a zone show at an instant, `HH:MM`. */
export function timeOfDayIn(atMs: number, zone: string): string {
  const time = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainTime();
  return time.toString({ smallestUnit: 'minute' });
}

/** Day and time of day that clocks in a zone show at an instant, `YYYY-MM-DDTHH:MM`. */
export function localTimeIn(atMs: number, zone: string): string {
  const local = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainDateTime();
  return local.toString({ smallestUnit: 'minute' });
}

/** Whether clocks in a zone show at another instant too what they show at this one, because they are set back. */
export function isShownTwice(atMs: number, zone: string): boolean {
  const local = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainDateTime();
  const first = local.toZonedDateTime(zone, { disambiguation: 'earlier' });
  return !first.equals(local.toZonedDateTime(zone, { disambiguation: 'later' }));
}

/** The day a number of days after another; before it when negative. */
export function addDays(day: string, days: number): string {
  return Temporal.PlainDate.from(day).add({ days }).toString();
}

/** 1 for a Monday to 7 for a Sunday, as in ISO 8601. */
export function weekdayNumber(day: string): number {
  return Temporal.PlainDate.from(day).dayOfWeek;
}

/** The Monday of the week in which a day lies, weeks as in ISO 8601. */
export function mondayOf(day: string): string {
  return addDays(day, 1 - weekdayNumber(day));
}

/** The first instant of a day in a zone: not always 00:00, some zones change their clocks at midnight. */
export function startOfDayMs(day: string, zone: string): number {
  return wallClockInstant(day, '00:00', zone);
}
