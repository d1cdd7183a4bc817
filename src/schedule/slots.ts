import { wallClockInstant } from './wallClock.js';

/** How often a program is to be done, and where its listener lives. */
export type Rhythm = {
  timesADay: number;
  /** On how many days of a week; the listener chooses which. */
  daysAWeek: number;
  /** `HH:MM`, ascending, one for each time of the day; empty for the usual ones. */
  timesOfDay: readonly string[];
  /** IANA zone. */
  zone: string;
};

/** A session's place in the program: `2026-11-25#1` is the first one of that day. */
export type Slot = { slot: string; dueAtMs: number };

/** When sessions are due unless the clinician says otherwise, by how many there are a day. Our choice; no source. */
export const usualTimesOfDay: Readonly<Record<number, readonly string[]>> = {
  1: ['09:00'],
  2: ['09:00', '17:00'],
  3: ['09:00', '13:00', '18:00'],
};

/** The times of day that hold: those of the clinician, or else the usual ones. */
export function timesOfDayOf({ timesADay, timesOfDay }: Pick<Rhythm, 'timesADay' | 'timesOfDay'>) {
  return timesOfDay.length > 0 ? timesOfDay : (usualTimesOfDay[timesADay] ?? []);
}

/** The sessions of one day (`YYYY-MM-DD`, in the listener's zone), in the order of their times. */
export function slotsOf(rhythm: Rhythm, day: string): Slot[] {
  return timesOfDayOf(rhythm).map((time, index) => ({
    slot: `${day}#${index + 1}`,
    dueAtMs: wallClockInstant(day, time, rhythm.zone),
  }));
}

/** The day of a slot. */
export function dayOfSlot(slot: string): string {
  return slot.slice(0, 10);
}
