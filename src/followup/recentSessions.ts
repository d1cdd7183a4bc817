import type { Timetable } from '../prescription/content.js';
import { weekdays } from '../prescription/content.js';
import { type Break, isInBreak, timesOn, weekdaysOffered } from '../schedule/slots.js';
import { weekdayNumber } from '../schedule/wallClock.js';

/**
 * Estimates how many sessions of a program were scheduled on some days, by its current timetable: fast enough for every
 * patient of a clinic. Earlier timetables are left to each patient's progress page.
 *
 * @param days `YYYY-MM-DD` in the patient's zone, only those since the program became active
 * @param unwellDays days on which the patient skipped a session in pain or unwell
 */
export function estimateScheduledSessions(
  timetable: Timetable,
  days: readonly string[],
  { breaks, unwellDays }: { breaks: readonly Break[]; unwellDays: ReadonlySet<string> },
): number {
  const { startsOn, endsOn, daysAWeek } = timetable;
  const offered = days
    .filter((day) => (startsOn === null || startsOn <= day) && (endsOn === null || day <= endsOn))
    .filter((day) => !isInBreak(breaks, day) && !unwellDays.has(day))
    .reduce((sum, day) => sum + timesOn(timetable, weekdays[weekdayNumber(day) - 1] ?? 'monday').length, 0);
  const daysOffered = weekdaysOffered(timetable).length;
  return daysAWeek >= daysOffered ? offered : Math.round((offered * daysAWeek) / daysOffered);
}
