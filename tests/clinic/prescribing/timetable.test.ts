import { afterAll, describe, expect, it } from 'vitest';
import { addDays } from '../../../src/schedule/wallClock.js';
import { signShortProgram } from '../../support/clinic.js';
import { inWords, openRemindersClinic, read } from '../../support/remindersClinic.js';

const { clinic, ada, today, html, newPerson, dayLater, pageOf } = await openRemindersClinic();
afterAll(() => clinic.remove());

describe('the calendar', () => {
  /** What the table of each month says, by day: the classes of its cell, and its text. */
  function cellsOf(page: string): Map<string, string> {
    const months = [...page.matchAll(/<caption>([^<]+)<\/caption>(.*?)<\/table>/gs)];
    return new Map(
      months.flatMap(([, month = '', table = '']) =>
        [...table.matchAll(/<td class="([^"]*)"><span class="date">(\d+)<\/span>(.*?)<\/td>/g)].map(
          ([, classes = '', date = '', rest = '']) => {
            const text = rest.replaceAll(/<[^>]+>/g, '').trim();
            const said = `${classes.trim()} ${text}`.trim().replaceAll(' ,', ',');
            return [inWords(new Date(`${date} ${month} UTC`).toISOString().slice(0, 10)), said] as const;
          },
        ),
      ),
    );
  }

  it('shows this month and the next: times, breaks, first and last day and the day of review', async () => {
    const path = await newPerson();
    expect(await pageOf(path)).toContain('Calendar Empty: no active program.');
    const [firstDay, lastDay, reviewOn] = [addDays(today, 1), addDays(today, 20), addDays(today, 10)];
    const days = { startsOn: firstDay, endsOn: lastDay, reviewOn };
    await signShortProgram(ada, path, { ...days, 'timesOfDay.0': '08:15' });
    const other = { 'program.title': 'Breathing', endsOn: today, 'timesOfDay.0': '19:00' };
    await signShortProgram(ada, path, other);
    const [fromDay, untilDay] = [addDays(today, 3), addDays(today, 5)];
    await ada.submit(`${path}/breaks`, { kind: 'illness', fromDay, untilDay });
    const cells = cellsOf(await html(`${path}/reminders`));
    const [year = 0, month = 0] = today.split('-').map(Number);
    // Day 0 of a month is the last one of the month before it (ECMAScript, Date.UTC).
    const lengths = [month, month + 1].map((each) => new Date(Date.UTC(year, each, 0)).getUTCDate());
    expect(cells.size, 'every day of two months').toBe((lengths[0] ?? 0) + (lengths[1] ?? 0));
    const expected: [string, string][] = [
      [today, 'is-marked is-today, today, Last day (Breathing) 7:00 PM'],
      [firstDay, 'is-marked, First day (Short program) 8:15 AM'],
      [addDays(today, 2), '8:15 AM'],
      [fromDay, 'is-break, Illness'],
      [untilDay, 'is-break, Illness'],
      [addDays(today, 6), '8:15 AM'],
      [reviewOn, 'is-marked, Review date (Short program) 8:15 AM'],
      [lastDay, 'is-marked, Last day (Short program) 8:15 AM'],
      [addDays(today, 21), ''],
    ];
    for (const [day, said] of expected) expect(cells.get(inWords(day)), day).toBe(said);
    expect(await pageOf(path)).toContain(`Illness: ${inWords(fromDay)} to ${inWords(untilDay)}`);
  });
});

describe('when a program is done', () => {
  it('is asked for day by day, refused in the words of the form, and told on the page of the version', async () => {
    const path = await newPerson();
    const other = {
      timesADay: '2',
      'timesOfDay.0': '09:00',
      'timesOfDay.1': '17:00',
      'weekdays.saturday.how': 'own',
      'weekdays.saturday.times.1': '10:30',
      'weekdays.sunday.how': 'none',
    };
    await expect(signShortProgram(ada, path, other), 'seven days of six').rejects.toThrow(
      'Days per week</strong>: more days a week than there are weekdays with a session',
    );
    const empty = { ...other, daysAWeek: '6', 'weekdays.friday.how': 'own' };
    await expect(signShortProgram(ada, path, empty)).rejects.toThrow('Friday</strong>: not a time of day');
    const backwards = { startsOn: addDays(today, 1), endsOn: today };
    await expect(signShortProgram(ada, path, backwards)).rejects.toThrow(
      'Last day</strong>: the last day is before the first day',
    );
    const days = { startsOn: today, endsOn: addDays(today, 30), reviewOn: addDays(today, 14) };
    const program = await signShortProgram(ada, path, { ...other, daysAWeek: '6', ...days });
    const form = await html(`${program}/change`);
    expect(form).toMatch(/name="weekdays.saturday.how">.*?value="own" selected/);
    expect(form).toContain('name="weekdays.saturday.times.0" value="10:30"');
    expect(form).toMatch(/name="weekdays.sunday.how">.*?value="none" selected/);
    for (const [name, value] of Object.entries(days))
      expect(form).toContain(`name="${name}" value="${value}"`);
    const said = await read(ada.get(program));
    expect(said).toContain(
      'Mondays to Fridays at 9:00 AM and 5:00 PM; Saturdays at 10:30 AM; not on Sundays, from ',
    );
    expect(said).not.toContain('Due for review since');
    const later = await dayLater(31, () => read(ada.get(program)));
    expect(await dayLater(14, () => read(ada.get(path)))).toContain(
      `Short program Due for review since ${inWords(addDays(today, 14))}.`,
    );
    expect(later).toContain(`Due for review since ${inWords(addDays(today, 14))}.`);
    expect(later).toContain(`The last day was ${inWords(addDays(today, 30))}.`);
  });
});
