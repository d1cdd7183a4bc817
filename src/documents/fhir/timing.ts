import type { Timing, TimingRepeat } from 'fhir/r4.js';
import { type Timetable, type Weekday, weekdays } from '../../prescription/content.js';
import { timesOn, weekdaysOffered } from '../../schedule/slots.js';

const dayCodes: Readonly<Record<Weekday, NonNullable<TimingRepeat['dayOfWeek']>[number]>> = {
  monday: 'mon',
  tuesday: 'tue',
  wednesday: 'wed',
  thursday: 'thu',
  friday: 'fri',
  saturday: 'sat',
  sunday: 'sun',
};

/**
 * Returns when sessions are scheduled, as far as FHIR's Timing can express it: how many per day or week, the weekdays,
 * the times where they are the same on all of them, and the first and last day.
 *
 * @param durationSeconds length of a sustained exercise; null for one that counts repetitions
 */
export function timingOf(timetable: Timetable, durationSeconds: number | null): Timing {
  const { daysAWeek, startsOn, endsOn } = timetable;
  const offered = weekdaysOffered(timetable);
  const times = offered.map((weekday) => timesOn(timetable, weekday));
  const [first = []] = times;
  const isAlike = times.every((each) => each.join() === first.join());
  const isEveryDay = isAlike && daysAWeek === weekdays.length;
  const isChosen = daysAWeek < offered.length;
  const bounds = {
    ...(startsOn === null ? {} : { start: startsOn }),
    ...(endsOn === null ? {} : { end: endsOn }),
  };
  const repeat: TimingRepeat = {
    ...(startsOn === null && endsOn === null ? {} : { boundsPeriod: bounds }),
    ...(durationSeconds === null ? {} : { duration: durationSeconds, durationUnit: 's' }),
    frequency: isEveryDay ? first.length : sessionsAWeek(times, daysAWeek),
    period: 1,
    periodUnit: isEveryDay ? 'd' : 'wk',
    // Where the listener chooses the days, the offered days are not prescribed.
    ...(isEveryDay || isChosen ? {} : { dayOfWeek: offered.map((weekday) => dayCodes[weekday]) }),
    ...(isAlike ? { timeOfDay: first.map((time) => `${time}:00`) } : {}),
  };
  return { repeat };
}

/** Returns the most sessions possible in a week: days with more sessions are counted first. */
function sessionsAWeek(times: readonly (readonly string[])[], daysAWeek: number): number {
  const most = times.map((each) => each.length).sort((a, b) => b - a);
  return most.slice(0, daysAWeek).reduce((sum, count) => sum + count, 0);
}
