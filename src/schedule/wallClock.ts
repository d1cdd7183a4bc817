import { dayMs } from '../time/units.js';
import { steadyOffsetAround, steadyOffsetAt } from './steadyOffsets.js';
import { zoneOf } from './zoneRules.js';

/**
 * Wall-clock time in a patient's IANA zone. A day is `YYYY-MM-DD`, a time of day `HH:MM`, an instant epoch
 * milliseconds. A day, time or zone that does not exist throws a RangeError, because all three are validated at the
 * boundary.
 *
 * A year of sessions needs thousands of conversions. On days without a clock change, which are nearly all, arithmetic
 * with a cached offset gives the same result as looking up the nearby changes, a hundred times as fast.
 */

const dayPattern = /^\d{4}-\d\d-\d\d$/;
const timePattern = /^([01]\d|2[0-3]):[0-5]\d$/;

/**
 * Rule R1: returns the instant at which clocks in a zone show a time on a day. Where clocks show it twice, it is the
 * first of the two, as in RFC 5545, section 3.3.5. Where they skip it, it is the first instant after the gap. That is
 * our own rule, so that nobody is called half an hour late because of a clock change.
 */
export function wallClockInstant(day: string, time: string, zone: string): number {
  const localMs = localMsOf(day, time);
  const offsetMs = steadyOffsetAround(localMs, zone);
  if (offsetMs !== null) return localMs - offsetMs;
  const { showing, leapMs } = instantsOf(localMs, zone);
  return showing[0] ?? leapMs;
}

/**
 * Returns the next instant at which clocks in a zone show a time of day; repeated and skipped times as in {@link
 * wallClockInstant}.
 */
export function nextTimeShown(afterMs: number, time: string, zone: string): number {
  const today = isoDayIn(afterMs, zone);
  const instants = [today, addDays(today, 1)].flatMap((day) => {
    const { showing, leapMs } = instantsOf(localMsOf(day, time), zone);
    return showing.length > 0 ? showing : [leapMs];
  });
  return Math.min(...instants.filter((atMs) => atMs > afterMs));
}

/**
 * Clocks change by a day at most, where a country crosses the date line, and are at most 14 hours ahead or 12 behind.
 */
const mostAwayMs = 40 * 3_600_000;

/**
 * Finds when clocks show a local time.
 *
 * @param localMs the local time in epoch milliseconds, as if it were UTC
 * @returns `showing`: the instants, in order; `leapMs`: the change that skips the time, where there is no such instant
 */
function instantsOf(localMs: number, zone: string): { showing: number[]; leapMs: number } {
  const rules = zoneOf(zone);
  const changes = rules.changesBetween(localMs - mostAwayMs, localMs + mostAwayMs);
  const showing: number[] = [];
  let leapMs = Number.NaN;
  let beginsMs = Number.NEGATIVE_INFINITY;
  let offsetMs = rules.offsetMsAt(localMs - mostAwayMs);
  for (const next of [...changes, null]) {
    const atMs = localMs - offsetMs;
    const endsMs = next?.atMs ?? Number.POSITIVE_INFINITY;
    if (atMs >= beginsMs && atMs < endsMs) showing.push(atMs);
    // Before the change, clocks have not reached the time; after it, they are past it.
    if (next !== null && atMs >= endsMs && localMs - next.offsetMs < endsMs) leapMs = endsMs;
    beginsMs = endsMs;
    offsetMs = next?.offsetMs ?? offsetMs;
  }
  return { showing, leapMs };
}

/** Returns the day in a zone at an instant. */
export function isoDayIn(atMs: number, zone: string): string {
  return localTimeIn(atMs, zone).slice(0, -'THH:MM'.length);
}

/** Returns the time of day in a zone at an instant, `HH:MM`. */
export function timeOfDayIn(atMs: number, zone: string): string {
  return localTimeIn(atMs, zone).slice(-'HH:MM'.length);
}

/** Returns the day and time of day in a zone at an instant, `YYYY-MM-DDTHH:MM`. */
export function localTimeIn(atMs: number, zone: string): string {
  return new Date(localMsIn(atMs, zone)).toISOString().slice(0, -':SS.mmmZ'.length);
}

/**
 * Returns the local time in a zone at an instant, in epoch milliseconds as if it were UTC. Formatting it for the UTC
 * zone with Intl then always agrees with the rules used here.
 */
export function localMsIn(atMs: number, zone: string): number {
  if (!Number.isInteger(atMs)) throw new RangeError(`there is no instant ${atMs}`);
  return atMs + (steadyOffsetAt(atMs, zone) ?? zoneOf(zone).offsetMsAt(atMs));
}

/** Returns whether clocks in a zone show the same local time at another instant too, because they are set back. */
export function isShownTwice(atMs: number, zone: string): boolean {
  if (steadyOffsetAround(atMs, zone) !== null) return false;
  return instantsOf(localMsIn(atMs, zone), zone).showing.length > 1;
}

/** Returns the day `days` after another, or before it when negative. */
export function addDays(day: string, days: number): string {
  return isoDateOf(dayStart(day) + days * dayMs);
}

/** Returns 1 for Monday to 7 for Sunday, as in ISO 8601. */
export function weekdayNumber(day: string): number {
  return new Date(dayStart(day)).getUTCDay() || 7;
}

/** Returns the Monday of a day's week, as in ISO 8601. */
export function mondayOf(day: string): string {
  return addDays(day, 1 - weekdayNumber(day));
}

/**
 * Returns the first instant of a day in a zone. That is not always 00:00, because some zones change their clocks at
 * midnight.
 */
export function startOfDayMs(day: string, zone: string): number {
  return wallClockInstant(day, '00:00', zone);
}

/**
 * Returns a local time in epoch milliseconds, as if it were UTC. @throws RangeError for a day or a time that does not
 * exist
 */
function localMsOf(day: string, time: string): number {
  if (!timePattern.test(time)) throw new RangeError(`there is no time of day ${time}`);
  return dayStart(day) + minutesOf(time) * 60_000;
}

/**
 * Returns the start of a day in epoch milliseconds, as if it were UTC. @throws RangeError for a day that does not exist
 */
function dayStart(day: string): number {
  const known = starts.get(day);
  if (known !== undefined) return known;
  const startMs = dayPattern.test(day) ? Date.parse(`${day}T00:00:00Z`) : Number.NaN;
  // `Date` turns February 30 into March 2.
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

/** A history needs the same few hundred days thousands of times; years of days take a few hundred kilobytes. */
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
