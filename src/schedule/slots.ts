import { type Timetable, type Weekday, weekdays } from '../prescription/content.js';
import { wallClockInstant, weekdayNumber } from './wallClock.js';

/** Days on which nothing is due, both inclusive; without a last one until a clinician ends it. */
export type Break = { fromDay: string; untilDay: string | null };

/** When a program is to be done, and where its listener lives. */
export type Rhythm = Omit<Timetable, 'reviewOn'> & {
  /** IANA zone. */
  zone: string;
  breaks: readonly Break[];
};

/** A session's place in the program: `2026-11-25#1` is the first one of that day. */
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

/** The sessions of one day (`YYYY-MM-DD`, in the listener's zone), in the order of their times. */
export function slotsOf(rhythm: Rhythm, day: string): Slot[] {
  if (isOutside(rhythm, day)) return [];
  return timesOn(rhythm, weekdayOf(day)).map((time, index) => ({
    slot: `${day}#${index + 1}`,
    dueAtMs: wallClockInstant(day, time, rhythm.zone),
  }));
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
