import { type Timetable, type Weekday, weekdays } from '../prescription/content.js';
import { isoDayIn, wallClockInstant, weekdayNumber } from './wallClock.js';

/** Days on which nothing is due, both inclusive; without a last day, the break lasts until a clinician ends it. */
export type Break = { fromDay: string; untilDay: string | null };

/** When a program's sessions are due, and the zone of its listener. */
export type Rhythm = Omit<Timetable, 'reviewOn'> & {
  /** IANA zone. */
  zone: string;
  breaks: readonly Break[];
  /** The version before this one; absent for the first. */
  earlier?: Earlier | undefined;
};

/**
 * The previous version, in effect until the next was signed. Its days stay as they were, and so does the part of the
 * last day before the signature.
 */
type Earlier = { rhythm: Rhythm; untilMs: number; untilDay: string };

/**
 * A session's slot in the program: `2026-11-25#1` is the first session of that day, unless the day's times were
 * changed.
 */
export type Slot = { slot: string; dueAtMs: number };

/** Default times of day by number of sessions per day, unless the clinician sets others. Our choice; no source. */
export const usualTimesOfDay: Readonly<Record<number, readonly string[]>> = {
  1: ['09:00'],
  2: ['09:00', '17:00'],
  3: ['09:00', '13:00', '18:00'],
};

/** Returns the times of an ordinary day: those the clinician set, or else the defaults. */
export function timesOfDayOf({ timesADay, timesOfDay }: Pick<Timetable, 'timesADay' | 'timesOfDay'>) {
  return timesOfDay.length > 0 ? timesOfDay : (usualTimesOfDay[timesADay] ?? []);
}

/** Returns the times of a weekday: its own, or else those of an ordinary day. */
export function timesOn(
  timetable: Pick<Timetable, 'timesADay' | 'timesOfDay' | 'weekdayTimes'>,
  weekday: Weekday,
): readonly string[] {
  return timetable.weekdayTimes[weekday] ?? timesOfDayOf(timetable);
}

/** Returns the weekdays that have any session. */
export function weekdaysOffered(
  timetable: Pick<Timetable, 'timesADay' | 'timesOfDay' | 'weekdayTimes'>,
): Weekday[] {
  return weekdays.filter((weekday) => timesOn(timetable, weekday).length > 0);
}

/**
 * Returns the rhythm of the newest version of a program; null when there are no versions.
 *
 * @param versions newest first
 */
export function rhythmOf(
  versions: readonly { timetable: Timetable; signedAtMs: number }[],
  place: { zone: string; breaks: readonly Break[] },
): Rhythm | null {
  return versions.reduceRight<Rhythm | null>((before, { timetable, signedAtMs }) => {
    const { reviewOn: _reviewOn, ...times } = timetable;
    if (before === null) return { ...times, ...place };
    const untilDay = isoDayIn(signedAtMs, place.zone);
    return { ...times, ...place, earlier: { rhythm: before, untilMs: signedAtMs, untilDay } };
  }, null);
}

/** Returns the sessions of one day (`YYYY-MM-DD`, in the listener's zone), in order of time. */
export function slotsOf(rhythm: Rhythm, day: string): Slot[] {
  const { earlier, zone } = rhythm;
  const times = isOutside(rhythm, day) ? [] : timesOn(rhythm, weekdayOf(day));
  const dueAtMs = times.map((time) => wallClockInstant(day, time, zone));
  if (earlier?.untilDay === day) return onDayOfChange(dueAtMs, earlier);
  return dueAtMs.map((atMs, index) => ({ slot: nameOf(day, index + 1), dueAtMs: atMs }));
}

/**
 * Returns the sessions of the day on which a new version is signed. Those due before the signature stay, and later ones
 * follow the new version. A session due at the same time as before keeps its name; every other session gets a name that
 * was never used on that day, so that a report, message or postponement under a name never counts for another session.
 */
function onDayOfChange(dueAtMs: readonly number[], { rhythm, untilMs, untilDay }: Earlier): Slot[] {
  const before = slotsOf(rhythm, untilDay);
  const remaining = before.filter((slot) => slot.dueAtMs < untilMs);
  // Where nothing was due before the signature, the day gets all the sessions that are prescribed now.
  const wanted = remaining.length === 0 ? dueAtMs : dueAtMs.filter((atMs) => atMs >= untilMs);
  const known = before.filter((slot) => !remaining.includes(slot));
  let number = highestNumber(rhythm, untilDay);
  const added = wanted.map((atMs) => {
    const index = known.findIndex((slot) => slot.dueAtMs === atMs);
    const [same] = index < 0 ? [] : known.splice(index, 1);
    if (same !== undefined) return same;
    number += 1;
    return { slot: nameOf(untilDay, number), dueAtMs: atMs };
  });
  return [...remaining, ...added].sort((a, b) => a.dueAtMs - b.dueAtMs);
}

/** Returns the highest number that a session of a day has or has had. */
function highestNumber(rhythm: Rhythm, day: string): number {
  const numbers = slotsOf(rhythm, day).map(({ slot }) => Number(slot.slice(day.length + 1)));
  const { earlier } = rhythm;
  return Math.max(0, ...numbers, earlier?.untilDay === day ? highestNumber(earlier.rhythm, day) : 0);
}

function nameOf(day: string, number: number): string {
  return `${day}#${number}`;
}

/** Returns the day of a slot. */
export function dayOfSlot(slot: string): string {
  return slot.slice(0, 10);
}

/** Returns whether a day is in a break. */
export function isInBreak(breaks: readonly Break[], day: string): boolean {
  return breaks.some(({ fromDay, untilDay }) => fromDay <= day && (untilDay === null || day <= untilDay));
}

function isOutside({ startsOn, endsOn, breaks }: Rhythm, day: string): boolean {
  const isTooEarly = startsOn !== null && day < startsOn;
  const isTooLate = endsOn !== null && day > endsOn;
  return isTooEarly || isTooLate || isInBreak(breaks, day);
}

function weekdayOf(day: string): Weekday {
  return weekdays[weekdayNumber(day) - 1] ?? 'monday';
}
