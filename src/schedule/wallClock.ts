import { Temporal } from 'temporal-polyfill';
import { steadyOffsetAround, steadyOffsetAt } from './steadyOffsets.js';

/**
 * Wall-clock time in a patient's IANA zone. A day is `YYYY-MM-DD`, a time of day `HH:MM`, an instant epoch
 * milliseconds. A day, time or zone that does not exist is a RangeError: all three are checked where they come in.
 *
 * A year of sessions asks for thousands of them. On days on which no clock changes, which are nearly all, plain
 * arithmetic gives the same as Temporal, a hundred times as fast.
 */

const dayMs = 86_400_000;
const dayPattern = /^\d{4}-\d\d-\d\d$/;
const timePattern = /^([01]\d|2[0-3]):[0-5]\d$/;

/**
 * The instant at which clocks in a zone show a time of a day (rule R1). Where clocks show it twice, the first of the
 * two, as in RFC 5545, section 3.3.5; where they leap over it, the first instant after the leap, which is our own
 * rule: nobody is called half an hour late because of a clock change.
 */
export function wallClockInstant(day: string, time: string, zone: string): number {
  const localMs = timePattern.test(time) ? dayStart(day) + minutesOf(time) * 60_000 : null;
  const offsetMs = localMs === null ? null : steadyOffsetAround(localMs, zone);
  if (localMs !== null && offsetMs !== null) return localMs - offsetMs;
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
  return localTimeIn(atMs, zone).slice(0, -'THH:MM'.length);
}

/** The time of day that clocks in a zone show at an instant, `HH:MM`. */
export function timeOfDayIn(atMs: number, zone: string): string {
  return localTimeIn(atMs, zone).slice(-'HH:MM'.length);
}

/** Day and time of day that clocks in a zone show at an instant, `YYYY-MM-DDTHH:MM`. */
export function localTimeIn(atMs: number, zone: string): string {
  const offsetMs = Number.isInteger(atMs) ? steadyOffsetAt(atMs, zone) : null;
  if (offsetMs !== null) return new Date(atMs + offsetMs).toISOString().slice(0, -':SS.mmmZ'.length);
  const local = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainDateTime();
  return local.toString({ smallestUnit: 'minute' });
}

/** Whether clocks in a zone show at another instant too what they show at this one, because they are set back. */
export function isShownTwice(atMs: number, zone: string): boolean {
  if (Number.isInteger(atMs) && steadyOffsetAround(atMs, zone) !== null) return false;
  const local = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone).toPlainDateTime();
  const first = local.toZonedDateTime(zone, { disambiguation: 'earlier' });
  return !first.equals(local.toZonedDateTime(zone, { disambiguation: 'later' }));
}

/** The day a number of days after another; before it when negative. */
export function addDays(day: string, days: number): string {
  return isoDateOf(dayStart(day) + days * dayMs);
}

/** 1 for a Monday to 7 for a Sunday, as in ISO 8601. */
export function weekdayNumber(day: string): number {
  return new Date(dayStart(day)).getUTCDay() || 7;
}

/** The Monday of the week in which a day lies, weeks as in ISO 8601. */
export function mondayOf(day: string): string {
  return addDays(day, 1 - weekdayNumber(day));
}

/** The first instant of a day in a zone: not always 00:00, some zones change their clocks at midnight. */
export function startOfDayMs(day: string, zone: string): number {
  return wallClockInstant(day, '00:00', zone);
}

/** The beginning of a day as if it were one of UTC. @throws RangeError for a day that there is not */
function dayStart(day: string): number {
  const known = starts.get(day);
  if (known !== undefined) return known;
  const startMs = dayPattern.test(day) ? Date.parse(`${day}T00:00:00Z`) : Number.NaN;
  // 30 February would become the second of March.
  if (Number.isNaN(startMs) || new Date(startMs).toISOString().slice(0, 10) !== day) {
    throw new RangeError(`there is no day ${day}`);
  }
  keep(starts, day, startMs);
  return startMs;
}

function isoDateOf(atMs: number): string {
  const known = days.get(atMs);
  if (known !== undefined) return known;
  const day = new Date(atMs).toISOString().slice(0, -'THH:MM:SS.mmmZ'.length);
  keep(days, atMs, day);
  return day;
}

/** A history asks for the same few hundred days thousands of times; years of them are some hundred kilobytes. */
const mostKnownDays = 5_000;
const starts = new Map<string, number>();
const days = new Map<number, string>();

function keep<Key, Value>(known: Map<Key, Value>, key: Key, value: Value): void {
  if (known.size >= mostKnownDays) known.clear();
  known.set(key, value);
}

function minutesOf(time: string): number {
  return Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
}
