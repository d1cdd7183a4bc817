import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addMonths, monthOf } from '../../src/schedule/month.js';
import { slotsOf } from '../../src/schedule/slots.js';
import { plainTimetable, rhythms } from './timetables.js';

const zone = 'Europe/Berlin';
const away = { kind: 'holiday', fromDay: '2026-11-24', untilDay: '2026-11-25' };
const rhythm = {
  ...plainTimetable,
  timesOfDay: ['08:00'],
  weekdayTimes: { sunday: [] },
  startsOn: '2026-11-03',
  endsOn: '2026-11-28',
  reviewOn: '2026-11-27',
  zone,
  breaks: [away],
};

describe('a month', () => {
  it('is in whole weeks from Monday to Sunday, with what is due on each day and why nothing is', () => {
    const weeks = monthOf(rhythm, '2026-11');
    // November 2026 begins on a Sunday and ends on a Monday (ISO 8601 calendar).
    expect(weeks.map((week) => week[0]?.day)).toEqual([
      '2026-10-26',
      '2026-11-02',
      '2026-11-09',
      '2026-11-16',
      '2026-11-23',
      '2026-11-30',
    ]);
    const days = weeks.flat();
    expect(days.filter(({ isInMonth }) => isInMonth).map(({ dayOfMonth }) => dayOfMonth)).toEqual(
      Array.from({ length: 30 }, (_, index) => index + 1),
    );
    const on = (day: string) => days.find((each) => each.day === day);
    expect(on('2026-11-02')?.whyNone).toBe('before-start');
    expect(on('2026-11-03')).toMatchObject({
      sessions: [{ slot: '2026-11-03#1', time: '08:00' }],
      whyNone: null,
    });
    expect(on('2026-11-08')?.whyNone).toBe('free');
    expect(on('2026-11-24')).toMatchObject({ whyNone: 'in-a-break', inBreak: away });
    expect(on('2026-11-26')?.inBreak).toBe(null);
    expect(on('2026-11-29')?.whyNone).toBe('after-end');
    expect(days.filter(({ isReviewDay }) => isReviewDay).map(({ day }) => day)).toEqual(['2026-11-27']);
  });

  it('shows the time that clocks show, also where they are put forward over it', () => {
    const night = { ...rhythm, timesOfDay: ['02:30'], startsOn: null, endsOn: null, weekdayTimes: {} };
    // Central European Summer Time begins on 28 March 2027 at 01:00 UTC (IANA data, file europe).
    const found = monthOf(night, '2027-03').flat();
    expect(found.find(({ day }) => day === '2027-03-28')?.sessions.map(({ time }) => time)).toEqual([
      '03:00',
    ]);
    expect(found.find(({ day }) => day === '2027-03-27')?.sessions.map(({ time }) => time)).toEqual([
      '02:30',
    ]);
  });

  it('has every day of it once, in order, with the sessions of the schedule, whichever month it is', () => {
    const months = fc.integer({ min: -30, max: 60 }).map((ahead) => addMonths('2026-11', ahead));
    fc.assert(
      fc.property(rhythms, months, (random, month) => {
        const weeks = monthOf({ ...random, reviewOn: null }, month);
        const days = weeks.flat();
        expect(weeks.every((week) => week.length === 7)).toBe(true);
        const [year = 0, number = 1] = month.split('-').map(Number);
        const lastOfMonth = new Date(Date.UTC(year, number, 0)).getUTCDate();
        expect(days.filter(({ isInMonth }) => isInMonth).map(({ day }) => day)).toEqual(
          Array.from({ length: lastOfMonth }, (_, index) => `${month}-${String(index + 1).padStart(2, '0')}`),
        );
        days.forEach(({ day, sessions, whyNone }, index) => {
          expect((new Date(day).getUTCDay() + 6) % 7).toBe(index % 7);
          expect(sessions.map(({ slot }) => slot)).toEqual(slotsOf(random, day).map(({ slot }) => slot));
          expect(whyNone === null).toBe(sessions.length > 0);
        });
      }),
      { numRuns: 100 },
    );
  });

  it('comes after the one before it, over the turn of a year too', () => {
    expect(addMonths('2026-11', 2)).toBe('2027-01');
    expect(addMonths('2027-01', -1)).toBe('2026-12');
    expect(addMonths('2026-12', 0)).toBe('2026-12');
  });
});
