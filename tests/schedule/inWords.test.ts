import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { weekdays } from '../../src/prescription/content.js';
import { interfaceLanguage, timeOfDayInWords } from '../../src/prescription/datesInWords.js';
import { type ScheduleWords, spanInWords, timetableInWords } from '../../src/schedule/inWords.js';
import { timesOn } from '../../src/schedule/slots.js';
import { openWords } from '../../src/text/words.js';
import { plainTimetable, timetables } from './timetables.js';

let words: ScheduleWords;
beforeAll(async () => {
  words = (await openWords()).schedule;
});

it('is written in one language with every other date of the pages', () => {
  expect(words.language).toBe(interfaceLanguage);
});

const when = (changed: object) => timetableInWords({ ...plainTimetable, ...changed }, words).when;

describe('a timetable in words', () => {
  it('says each group of days once, and which days are free', () => {
    const twice = { timesADay: 2, timesOfDay: ['09:00', '17:00'] };
    expect(when(twice)).toBe('Every day at 9:00 AM and 5:00 PM');
    expect(when({ timesADay: 3 })).toBe('Every day at 9:00 AM, 1:00 PM, and 6:00 PM');
    const off = { tuesday: [], thursday: [], saturday: [], sunday: [] };
    expect(when({ daysAWeek: 3, timesOfDay: ['08:00'], weekdayTimes: off })).toBe(
      'Mondays, Wednesdays, and Fridays at 8:00 AM; not on other days',
    );
    expect(
      when({ daysAWeek: 6, timesOfDay: ['08:00'], weekdayTimes: { saturday: [], sunday: ['10:00'] } }),
    ).toBe('Mondays to Fridays at 8:00 AM; Sundays at 10:00 AM; not on Saturdays');
    expect(when({ ...twice, daysAWeek: 5, weekdayTimes: { saturday: [], sunday: [] } })).toBe(
      'Mondays to Fridays at 9:00 AM and 5:00 PM; not on Saturdays and Sundays',
    );
    expect(when({ ...twice, weekdayTimes: { wednesday: ['12:00'] } })).toBe(
      'Mondays, Tuesdays, and Thursdays to Sundays at 9:00 AM and 5:00 PM; Wednesdays at 12:00 PM',
    );
  });

  it('says on how many days, where there are more to choose from', () => {
    expect(when({ daysAWeek: 3 })).toBe('On any 3 days of the week, at 9:00 AM');
    expect(when({ daysAWeek: 1 })).toBe('On one day of the week, at 9:00 AM');
    expect(when({ daysAWeek: 2, weekdayTimes: { saturday: [], sunday: [] } })).toBe(
      'On any 2 of these days of the week: Mondays to Fridays at 9:00 AM; not on Saturdays and Sundays',
    );
    expect(when({ daysAWeek: 1, weekdayTimes: { sunday: [] } })).toBe(
      'On any one of these days of the week: Mondays to Saturdays at 9:00 AM; not on Sundays',
    );
  });

  it('says from when to when, and when it is to be looked at again', () => {
    const bounded = { startsOn: '2026-12-01', endsOn: '2027-01-12', reviewOn: '2027-01-08' };
    expect(timetableInWords({ ...plainTimetable, ...bounded }, words)).toMatchObject({
      span: 'from December 1, 2026 to January 12, 2027',
      review: 'review date January 8, 2027',
    });
    expect(timetableInWords(plainTimetable, words)).toMatchObject({ span: null, review: null });
    const span = (fromDay: string | null, untilDay: string | null) =>
      spanInWords({ fromDay, untilDay }, words);
    expect(span('2026-12-01', null)).toBe('from December 1, 2026 on');
    expect(span(null, '2027-01-12')).toBe('until January 12, 2027');
    expect(span('2026-12-24', '2026-12-24')).toBe('on December 24, 2026 only');
  });

  it('says every time of every day, and no markup, whatever was prescribed', () => {
    fc.assert(
      fc.property(timetables, (timetable) => {
        const said = timetableInWords(timetable, words);
        for (const time of weekdays.flatMap((weekday) => timesOn(timetable, weekday))) {
          expect(said.when).toContain(timeOfDayInWords(time));
        }
        expect(`${said.when} ${said.span} ${said.review}`).not.toMatch(/[{}&<>]|undefined|\s{2}/);
        const weekdayNames = weekdays.filter((weekday) => said.when.includes(words.eachWeekday[weekday]));
        expect(said.when.startsWith('Every day'), 'or names days, or any').toBe(
          weekdayNames.length === 0 && timetable.daysAWeek === 7,
        );
      }),
      { numRuns: 500 },
    );
  });
});
