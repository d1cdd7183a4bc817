import fc from 'fast-check';
import { type Timetable, type Weekday, weekdays } from '../../src/prescription/content.js';
import type { Break, Rhythm } from '../../src/schedule/slots.js';
import { addDays } from '../../src/schedule/wallClock.js';

/** Timetables as a clinician may sign them, and what hangs on them, for properties. */

/** Where clocks change at night, by half an hour, at midnight, never. */
export const someZones = [
  'Europe/Berlin',
  'America/New_York',
  'America/Santiago',
  'Australia/Lord_Howe',
  'Asia/Kolkata',
  'UTC',
] as const;

/** Every day once, at the usual time. */
export const plainTimetable: Timetable = {
  timesADay: 1,
  daysAWeek: 7,
  timesOfDay: [],
  weekdayTimes: {},
  startsOn: null,
  endsOn: null,
  reviewOn: null,
};

/** A day of the two years from July 2026 on, in which clocks change four times where they do. */
export const days = fc.integer({ min: 0, max: 730 }).map((ahead) => addDays('2026-07-01', ahead));

const timesOfDay = (least: number, most: number) =>
  fc
    .uniqueArray(fc.integer({ min: 0, max: 1439 }), { minLength: least, maxLength: most })
    .map((minutes) => minutes.sort((a, b) => a - b).map(timeOfDay));

/** Minutes after midnight as a time of day. */
export function timeOfDay(minutes: number): string {
  return new Date(minutes * 60_000).toISOString().slice(11, 16);
}

/** A time of day as minutes after midnight. */
export function minutesOf(time: string): number {
  const [hours = 0, minutes = 0] = time.split(':').map(Number);
  return hours * 60 + minutes;
}

/** Within the bounds of the prescription's own schema. */
export const timetables: fc.Arbitrary<Timetable> = fc
  .integer({ min: 1, max: 3 })
  .chain((timesADay) =>
    fc.record({
      timesADay: fc.constant(timesADay),
      timesOfDay: fc.oneof(fc.constant<string[]>([]), timesOfDay(timesADay, timesADay)),
      exceptions: fc.dictionary(fc.constantFrom(...weekdays), timesOfDay(0, timesADay), { maxKeys: 6 }),
      chosen: fc.integer({ min: 1, max: 7 }),
      starts: fc.option(days),
      endsAfter: fc.option(fc.integer({ min: 0, max: 200 })),
      reviewOn: fc.option(days),
    }),
  )
  .map(({ exceptions, chosen, starts, endsAfter, ...rest }) => {
    const weekdayTimes: Partial<Record<Weekday, string[]>> = exceptions;
    const offered = weekdays.filter((weekday) => weekdayTimes[weekday]?.length !== 0);
    return {
      ...rest,
      weekdayTimes,
      daysAWeek: Math.min(chosen, offered.length),
      startsOn: starts,
      endsOn: endsAfter === null ? null : addDays(starts ?? '2026-12-01', endsAfter),
    };
  });

const breaks: fc.Arbitrary<Break> = fc
  .record({ fromDay: days, lasts: fc.option(fc.integer({ min: 0, max: 40 })) })
  .map(({ fromDay, lasts }) => ({ fromDay, untilDay: lasts === null ? null : addDays(fromDay, lasts) }));

export const rhythms: fc.Arbitrary<Rhythm> = fc
  .record({
    timetable: timetables,
    zone: fc.constantFrom(...someZones),
    breaks: fc.array(breaks, { maxLength: 2 }),
  })
  .map(({ timetable: { reviewOn: _reviewOn, ...timetable }, ...rest }) => ({ ...timetable, ...rest }));
