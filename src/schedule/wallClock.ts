import { dayMs } from '../time/units.js';
import { steadyOffsetAround, steadyOffsetAt } from './steadyOffsets.js';
import { zoneOf } from './zoneRules.js';

/**
 * Wall-clock time in a patient's IANA zone. A day is `YYYY-MM-DD`, a time of day `HH:MM`, an instant epoch
 * milliseconds. A day, time or zone that does not exist is a RangeError: all three are checked where they come in.
 *
 * A year of sessions asks for thousands of them. On days on which no clock changes, which are nearly all, plain
 * arithmetic with a remembered offset gives the same as looking at the changes around, a hundred times as fast.
 */

const dayPattern = /^\d{4}-\d\d-\d\d$/;
const timePattern = /^([01]\d|2[0-3]):[0-5]\d$/;

/**
 * Rule R1: the instant at which clocks in a zone show a time of a day. Where clocks show it twice, the first of the
 * two, as in RFC 5545, section 3.3.5; where they leap over it, the first instant after the leap, which is our own
 * rule: no one is called half an hour late because of a clock change.
 */
export function wallClockInstant(day: string, time: string, zone: string): number {
  const localMs = localMsOf(day, time);
  const offsetMs = steadyOffsetAround(localMs, zone);
  if (offsetMs !== null) return localMs - offsetMs;
  const { showing, leapMs } = instantsOf(localMs, zone);
  return showing[0] ?? leapMs;
}

/** The next instant at which clocks in a zone show a time of day; they may show it twice, or leap over it, as above. */
export function nextTimeShown(afterMs: number, time: string, zone: string): number {
  const today = isoDayIn(afterMs, zone);
  const instants = [today, addDays(today, 1)].flatMap((day) => {
    const { showing, leapMs } = instantsOf(localMsOf(day, time), zone);
    return showing.length > 0 ? showing : [leapMs];
  });
  return Math.min(...instants.filter((atMs) => atMs > afterMs));
}

/** Clocks are set by a day at most, where a country crosses the date line, and are 14 hours ahead or 12 behind. */
const mostAwayMs = 40 * 3_600_000;

/**
 * When clocks show a time.
 *
 * @param localMs the time, as if it were one of UTC
 * @returns `showing` the instants, in their order; `leapMs` the change that leaps over it, where there is none
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
    // Before the change clocks have not come so far, and with it they are beyond.
    if (next !== null && atMs >= endsMs && localMs - next.offsetMs < endsMs) leapMs = endsMs;
    beginsMs = endsMs;
    offsetMs = next?.offsetMs ?? offsetMs;
  }
  return { showing, leapMs };
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
  return new Date(localMsIn(atMs, zone)).toISOString().slice(0, -':SS.mmmZ'.length);
}

/**
 * What clocks in a zone show at an instant, as if it were UTC: to be written with the zone UTC by what knows languages,
 * so that what is read agrees with what is reckoned.
 */
export function localMsIn(atMs: number, zone: string): number {
  if (!Number.isInteger(atMs)) throw new RangeError(`there is no instant ${atMs}`);
  return atMs + (steadyOffsetAt(atMs, zone) ?? zoneOf(zone).offsetMsAt(atMs));
}

/** Whether clocks in a zone show at another instant too what they show at this one, because they are set back. */
export function isShownTwice(atMs: number, zone: string): boolean {
  if (steadyOffsetAround(atMs, zone) !== null) return false;
  return instantsOf(localMsIn(atMs, zone), zone).showing.length > 1;
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

/** A time of a day as if it were one of UTC. @throws RangeError for a day or a time that there is not */
function localMsOf(day: string, time: string): number {
  if (!timePattern.test(time)) throw new RangeError(`there is no time of day ${time}`);
  return dayStart(day) + minutesOf(time) * 60_000;
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
