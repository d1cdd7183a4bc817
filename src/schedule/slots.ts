import { type Timetable, type Weekday, weekdays } from '../prescription/content.js';
import { isoDayIn, wallClockInstant, weekdayNumber } from './wallClock.js';

/** Days on which nothing is due, both inclusive; without a last one until a clinician ends it. */
export type Break = { fromDay: string; untilDay: string | null };

/** When a program is to be done, and where its listener lives. */
export type Rhythm = Omit<Timetable, 'reviewOn'> & {
  /** IANA zone. */
  zone: string;
  breaks: readonly Break[];
  /** What held before this version; absent for a first one. */
  earlier?: Earlier | undefined;
};

/** The version before, which held until the next one was signed; its days stay as they were, and half of one does. */
type Earlier = { rhythm: Rhythm; untilMs: number; untilDay: string };

/** A session's place in the program: `2026-11-25#1` is the first one of that day, unless its times were changed. */
export type Slot = { slot: string; dueAtMs: number };

/** When sessions are due unless the clinician says otherwise, by how many there are a day. Our choice; no source. */
export const usualTimesOfDay: Readonly<Record<number, readonly string[]>> = {
  1: ['09:00'],
  2: ['09:00', '17:00'],
  3: ['09:00', '13:00', '18:00'],
};

/** The times of an ordinary day: those of the clinician, or else the usual ones. */
export function timesOfDayOf({ timesADay, timesOfDay }: Pick<Timetable, 'timesADay' | 'timesOfDay'>) {
  return timesOfDay.length > 0 ? timesOfDay : (usualTimesOfDay[timesADay] ?? []);
}

/** The times of a weekday: its own, or else those of an ordinary day. */
export function timesOn(
  timetable: Pick<Timetable, 'timesADay' | 'timesOfDay' | 'weekdayTimes'>,
  weekday: Weekday,
): readonly string[] {
  return timetable.weekdayTimes[weekday] ?? timesOfDayOf(timetable);
}

/** The weekdays that have a session at all. */
export function weekdaysOffered(
  timetable: Pick<Timetable, 'timesADay' | 'timesOfDay' | 'weekdayTimes'>,
): Weekday[] {
  return weekdays.filter((weekday) => timesOn(timetable, weekday).length > 0);
}

/**
 * The rhythm of the newest of some versions of one program; null when there are none.
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

/** The sessions of one day (`YYYY-MM-DD`, in the listener's zone), in the order of their times. */
export function slotsOf(rhythm: Rhythm, day: string): Slot[] {
  const { earlier, zone } = rhythm;
  const times = isOutside(rhythm, day) ? [] : timesOn(rhythm, weekdayOf(day));
  const dueAtMs = times.map((time) => wallClockInstant(day, time, zone));
  if (earlier?.untilDay === day) return onDayOfChange(dueAtMs, earlier);
  return dueAtMs.map((atMs, index) => ({ slot: nameOf(day, index + 1), dueAtMs: atMs }));
}

/**
 * On the day of a signature what was due before it stays, and what is due after it is as the new version says. What is
 * due at the same moment as before is the same session still; everything else has a name that nothing of that day ever
 * had, so that nothing that was heard of, sent or put off counts for another session.
 */
function onDayOfChange(dueAtMs: readonly number[], { rhythm, untilMs, untilDay }: Earlier): Slot[] {
  const before = slotsOf(rhythm, untilDay);
  const kept = before.filter((slot) => slot.dueAtMs < untilMs);
  // Where nothing was due before the signature, the rest of the day is for all that is prescribed now.
  const wanted = kept.length === 0 ? dueAtMs : dueAtMs.filter((atMs) => atMs >= untilMs);
  const known = before.filter((slot) => !kept.includes(slot));
  let number = highestNumber(rhythm, untilDay);
  const added = wanted.map((atMs) => {
    const index = known.findIndex((slot) => slot.dueAtMs === atMs);
    const [same] = index < 0 ? [] : known.splice(index, 1);
    if (same !== undefined) return same;
    number += 1;
    return { slot: nameOf(untilDay, number), dueAtMs: atMs };
  });
  return [...kept, ...added].sort((a, b) => a.dueAtMs - b.dueAtMs);
}

/** The highest number that a session of a day has or had. */
function highestNumber(rhythm: Rhythm, day: string): number {
  const numbers = slotsOf(rhythm, day).map(({ slot }) => Number(slot.slice(day.length + 1)));
  const { earlier } = rhythm;
  return Math.max(0, ...numbers, earlier?.untilDay === day ? highestNumber(earlier.rhythm, day) : 0);
}

function nameOf(day: string, number: number): string {
  return `${day}#${number}`;
}

/** The day of a slot. */
export function dayOfSlot(slot: string): string {
  return slot.slice(0, 10);
}

/** Whether a day lies in a break. */
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
