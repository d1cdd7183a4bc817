import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { byExercise, byPartOfDay, byWeek, tallyOf } from '../../src/followup/adherence.js';
import {
  baselineOf,
  courseOf,
  isTooEarly,
  levelAt,
  medianOf,
  type Point,
  painChange,
  painStandingOn,
  unchangedBand,
} from '../../src/followup/course.js';
import type { Outcome, ProgramHistory } from '../../src/followup/history.js';
import { outcomesOf } from '../../src/followup/outcomes.js';
import { estimateScheduledSessions } from '../../src/followup/recentSessions.js';
import { addDays, mondayOf } from '../../src/schedule/wallClock.js';
import { at, dayAgo, Life, slotAgo, today, zone } from './happened.js';

describe('how much was done', () => {
  it('is what was done of what was wanted; rest and illness count neither way, what was begun is not done', () => {
    const life = new Life(10)
      .listen(slotAgo(10), 1)
      .listen(slotAgo(9), 0.3)
      .notToday(slotAgo(8), 'unwell')
      .listen(slotAgo(30), 1);
    const from = dayAgo(7);
    life.plan.breaks.push({
      fromDay: from,
      untilDay: dayAgo(3),
      createdAtMs: at(dayAgo(8), 1),
      removedAtMs: null,
    });
    const tally = tallyOf(outcomesOf(life.happened));
    expect(tally).toMatchObject({
      done: 1,
      partly: 1,
      missed: 2,
      excused: 6,
      unwell: 1,
      wanted: 4,
      beyond: 1,
    });
    expect(tally.share?.value).toBe(0.25);
  });

  it('is nothing where nothing was wanted', () => {
    expect(tallyOf([])).toEqual({
      ...{
        done: 0,
        easier: 0,
        partly: 0,
        missed: 0,
        excused: 0,
        unwell: 0,
        wanted: 0,
        beyond: 0,
        share: null,
      },
    });
  });

  it('of weeks and of parts of the day adds up to the whole', () => {
    const days = fc.uniqueArray(fc.integer({ min: 1, max: 20 }), { maxLength: 20 });
    fc.assert(
      fc.property(days, fc.constantFrom(1, 2, 3), (heard, timesADay) => {
        const life = new Life(20, { timesADay });
        for (const days of heard)
          life.listen(slotAgo(days, 1 + (days % timesADay)), days % 4 === 0 ? 0.2 : 1);
        const outcomes = outcomesOf(life.happened);
        const whole = tallyOf(outcomes);
        for (const parts of [byWeek(outcomes), byPartOfDay(outcomes, zone)]) {
          const sum = (of: (tally: typeof whole) => number) =>
            parts.reduce((total, { tally }) => total + of(tally), 0);
          expect(sum(({ done }) => done)).toBe(whole.done);
          expect(sum(({ partly }) => partly)).toBe(whole.partly);
          expect(sum(({ wanted }) => wanted)).toBe(whole.wanted);
        }
      }),
      { numRuns: 30 },
    );
  });

  it('of weeks begins them on a Monday (ISO 8601)', () => {
    const weeks = byWeek(outcomesOf(new Life(14).happened)).map(({ monday }) => monday);
    expect(weeks).toEqual([mondayOf(dayAgo(14)), mondayOf(dayAgo(7)), mondayOf(today)]);
  });

  it('of an exercise is how often it was heard to its end, over versions', () => {
    const life = new Life(4)
      .listen(slotAgo(4), 0.5)
      .listen(slotAgo(3), 1)
      .say(slotAgo(2), { done: 'all' })
      .sign(at(dayAgo(1), 1));
    const exercise = (id: string) => ({ exercise: { id, name: id } });
    const version = (number: number, ids: string[], exerciseEndsMs: number[]) => ({
      ...{ number, exerciseEndsMs, exercises: ids.map(exercise) },
    });
    const versions = [version(1, ['a', 'b'], [200_000, 500_000]), version(2, ['b', 'c'], [250_000, 500_000])];
    const program = { versions } as unknown as ProgramHistory;
    const reached = byExercise(program, outcomesOf(life.happened));
    expect(reached.map(({ exerciseId, reached, wanted }) => [exerciseId, reached, wanted])).toEqual([
      ['b', 2, 4],
      ['c', 0, 1],
      ['a', 3, 3],
    ]);
  });
});

const points = (values: readonly number[], from = dayAgo(20)): Point[] =>
  values.map((value, index) => ({ day: addDays(from, index), atMs: index, value }));

describe('how pain changed', () => {
  // Farrar et al. 2001, Pain 94:149: 2 points or 30 %, and a larger drop in points from a high beginning.
  it.each([
    [5, 3, 'less'],
    [5, 4, 'within'],
    [9, 7, 'within'],
    [9, 6, 'less'],
    [3, 5, 'more'],
    [9, 10, 'within'],
    [0, 2, 'more'],
  ] as const)('from %i to %i is %s', (from, to, kind) => {
    const pain = [...points([from, from, from]), ...points([to, to, to], dayAgo(2))];
    expect(painChange(pain, today)).toMatchObject({
      ...{ kind, points: to - from },
      percent: from === 0 ? null : (100 * (to - from)) / from,
    });
    const { from: least, to: most } = unchangedBand({ median: from, answers: 3 });
    const isOutside = to <= least || to >= most;
    expect(isOutside, 'as the band shows it, but at the ends of the scale').toBe(
      kind !== 'within' || to === 10,
    );
  });

  it('is told with the days of both weeks, or why it cannot be told; what came later does not count', () => {
    const all = [...points([6, 6, 6]), ...points([2, 2, 2], dayAgo(2))];
    expect(painStandingOn(all, today)).toEqual({
      state: 'compared',
      firstWeek: { from: dayAgo(20), until: dayAgo(14) },
      lastWeek: { from: dayAgo(6), until: today },
      ...painChange(all, today),
    });
    expect(painStandingOn(all, dayAgo(10))).toEqual({ state: 'too-early' });
    expect(painStandingOn(all, dayAgo(5))).toEqual({ state: 'too-few-answers' });
    expect(painStandingOn([], today)).toEqual({ state: 'too-few-answers' });
  });

  it('is not said with fewer than three answers in the first or in the last week', () => {
    expect(painChange(points([5, 5]), today)).toBeNull();
    expect(painChange(points([5, 5, 5]), today), 'nothing lately').toBeNull();
    expect(baselineOf(points([5, 7, 6, 0, 0, 0, 0, 0, 0]))?.median, 'of seven days').toBe(0);
    expect(baselineOf(points([4, 8, 6, 6]))).toEqual({ median: 6, answers: 4 });
    expect(levelAt(points([1, 2, 3], dayAgo(9)), today), 'the third is of the last seven days').toBeNull();
  });

  it('is not said before the last week begins after the first one, so that no answer counts on both sides', () => {
    const pain = points([6, 6, 6, 6, 6, 6, 6, 2, 2, 2, 2, 2, 2, 2], dayAgo(13));
    expect(painChange(pain, today)).toMatchObject({ kind: 'less', points: -4 });
    expect([isTooEarly(pain, today), isTooEarly([], today)]).toEqual([false, false]);
    expect([painChange(pain, dayAgo(1)), isTooEarly(pain, dayAgo(1))]).toEqual([null, true]);
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 10 }), { minLength: 1, maxLength: 40 }),
        fc.integer({ min: 0, max: 20 }),
        (values, later) => {
          const all = points(values, dayAgo(20));
          const change = painChange(all, addDays(dayAgo(20), later));
          if (later < 13) expect(change).toBeNull();
          else expect(isTooEarly(all, addDays(dayAgo(20), later))).toBe(false);
        },
      ),
      { numRuns: 100 },
    );
  });

  it('takes the middle, which one odd answer does not move', () => {
    expect(medianOf([2, 9, 3])).toBe(3);
    expect(medianOf([1, 2, 3, 10])).toBe(2.5);
  });

  it('keeps every answer of a day, however many there are', () => {
    const life = new Life(2)
      .say(slotAgo(1), { painBefore: 9, effort: null })
      .say(slotAgo(1), { painBefore: 2, painAfter: 0 });
    const outcomes: Outcome[] = outcomesOf(life.happened);
    expect(courseOf(outcomes)).toEqual({
      painBefore: [2, 9].map((value) => ({ day: dayAgo(1), atMs: at(dayAgo(1), 12), value })),
      painAfter: [{ day: dayAgo(1), atMs: at(dayAgo(1), 12), value: 0 }],
      effort: [],
    });
  });
});

describe('what was wanted lately, about', () => {
  const timetable = (change: object) => ({
    ...{ timesADay: 2, daysAWeek: 7, timesOfDay: [], weekdayTimes: {}, startsOn: null, endsOn: null },
    ...{ reviewOn: null, ...change },
  });
  const days = Array.from({ length: 14 }, (_, index) => dayAgo(index + 1));
  const nothing = { breaks: [], unwellDays: new Set<string>() };

  it('is the sessions of the days, without breaks, illness and what lies before or after', () => {
    expect(estimateScheduledSessions(timetable({}), days, nothing)).toBe(28);
    expect(estimateScheduledSessions(timetable({ daysAWeek: 3 }), days, nothing)).toBe(12);
    expect(estimateScheduledSessions(timetable({ weekdayTimes: { sunday: [] } }), days, nothing)).toBe(24);
    expect(estimateScheduledSessions(timetable({ startsOn: dayAgo(3) }), days, nothing)).toBe(6);
    expect(estimateScheduledSessions(timetable({ endsOn: dayAgo(12) }), days, nothing)).toBe(6);
    const breaks = [{ fromDay: dayAgo(5), untilDay: null }];
    expect(estimateScheduledSessions(timetable({}), days, { breaks, unwellDays: new Set([dayAgo(9)]) })).toBe(
      16,
    );
  });
});
