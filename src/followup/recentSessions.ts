import type { Timetable } from '../prescription/content.js';
import { weekdays } from '../prescription/content.js';
import { type Break, isInBreak, timesOn, weekdaysOffered } from '../schedule/slots.js';
import { weekdayNumber } from '../schedule/wallClock.js';

/**
 * About how many sessions of a program were wanted on some days, by its timetable as it is now: quick enough for
 * everyone of a clinic. What it was before a change is left to the follow-up of each person.
 *
 * @param days `YYYY-MM-DD` in the patient's zone, those since the program began to run
 * @param unwellDays days on which the patient put something off in pain or ill
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
