import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Heard, type PlannedInput, plannedStates } from '../../src/schedule/plannedStates.js';
import { dayOfSlot, type Rhythm, slotsOf, usualTimesOfDay } from '../../src/schedule/slots.js';
import { addDays, isoDayIn, mondayOf, wallClockInstant } from '../../src/schedule/wallClock.js';
import { plainTimetable, rhythms } from './timetables.js';

const zone = 'Europe/Berlin';
const twice: Rhythm = { ...plainTimetable, timesADay: 2, zone, breaks: [] };
/** A Wednesday. */
const day = '2026-11-25';
const at = (time: string, on = day) => wallClockInstant(on, time, zone);

const planned = (input: Partial<PlannedInput> & { nowMs: number }) =>
  plannedStates({
    rhythm: twice,
    sinceMs: 0,
    lastDoneAtMs: null,
    heard: new Map(),
    notToday: new Set(),
    ...input,
  });
const states = (input: Partial<PlannedInput> & { nowMs: number }) =>
  planned(input).slots.map(({ slot, state }) => `${slot} ${state}`);
const today = (input: Partial<PlannedInput> & { nowMs: number }) =>
  planned(input)
    .slots.filter(({ slot }) => dayOfSlot(slot) === day)
    .map(({ state }) => state);

describe('the slots of a day', () => {
  it('are at the times prescribed, or at the usual ones', () => {
    expect(slotsOf(twice, day)).toEqual([
      { slot: `${day}#1`, dueAtMs: at('09:00') },
      { slot: `${day}#2`, dueAtMs: at('17:00') },
    ]);
    const own = { ...twice, timesOfDay: ['07:15', '20:00'] };
    expect(slotsOf(own, day).map(({ dueAtMs }) => dueAtMs)).toEqual([at('07:15'), at('20:00')]);
    for (const timesADay of [1, 2, 3]) expect(usualTimesOfDay[timesADay]).toHaveLength(timesADay);
  });
});

describe('the time between two sessions', () => {
  it('is three hours at least, from the end of one to the beginning of the next', () => {
    const heard = new Map<string, Heard>([[`${day}#1`, 'done']]);
    const done = { heard, lastDoneAtMs: at('14:55') };
    expect(today({ ...done, nowMs: at('15:00') }), 'five minutes later').toEqual(['done', 'later']);
    expect(today({ ...done, nowMs: at('17:54') })).toEqual(['done', 'later']);
    expect(today({ ...done, nowMs: at('17:55') })).toEqual(['done', 'due']);
    const early = { heard, lastDoneAtMs: at('08:00') };
    expect(today({ ...early, nowMs: at('15:00') }), 'long over').toEqual(['done', 'due']);
  });
});

describe('the state of a session', () => {
  it('goes with the clock: due two hours early, until the next is due or the day ends', () => {
    const times = ['00:00', '06:59', '07:00', '14:59', '15:00', '23:59'];
    expect(times.map((time) => today({ nowMs: at(time) }).join(' '))).toEqual([
      'later later',
      'later later',
      'due later',
      'due later',
      'missed due',
      'missed due',
    ]);
    expect(states({ nowMs: at('08:00') })).toEqual([
      '2026-11-25#1 due',
      '2026-11-25#2 later',
      '2026-11-26#1 later',
      '2026-11-26#2 later',
      '2026-11-27#1 later',
      '2026-11-27#2 later',
    ]);
  });

  it('keeps a session for now until at least halfway to the next, however close that is', () => {
    const rhythm = { ...twice, timesOfDay: ['08:00', '09:00'] };
    const times = ['08:29', '08:30'];
    expect(times.map((time) => today({ rhythm, nowMs: at(time) }).join(' '))).toEqual([
      'due later',
      'missed due',
    ]);
  });

  it('says what happened rather than what the clock says', () => {
    const [one, two] = [`${day}#1`, `${day}#2`];
    const nowMs = at('18:00');
    expect(today({ nowMs, heard: new Map([[one, 'done']]) })).toEqual(['done', 'due']);
    expect(today({ nowMs, heard: new Map([[two, 'begun']]) })).toEqual(['missed', 'begun']);
    expect(today({ nowMs, notToday: new Set([two]) })).toEqual(['missed', 'skipped']);
    expect(today({ nowMs, notToday: new Set([two]), heard: new Map([[two, 'done']]) })).toEqual([
      'missed',
      'done',
    ]);
  });

  it('R6: leaves the whole day to whoever put it off in pain, and no other day', () => {
    const unwell = { nowMs: at('18:00'), notToday: new Set([day]) };
    expect(today(unwell)).toEqual(['skipped', 'skipped']);
    expect(today({ ...unwell, heard: new Map([[`${day}#1`, 'done']]) })).toEqual(['done', 'skipped']);
    expect(planned(unwell).slots.filter(({ state }) => state === 'skipped')).toHaveLength(2);
  });

  it('belongs to the day of the listener, not of the server', () => {
    const rhythm = { ...twice, zone: 'Pacific/Kiritimati' };
    // 14 hours ahead of UTC (IANA data, file australasia): noon UTC is two in the morning of the next day.
    const nowMs = Date.UTC(2026, 10, 25, 12);
    expect(planned({ rhythm, nowMs }).day).toBe('2026-11-26');
  });

  it('keeps its hours when clocks change during the night', () => {
    // Central European Summer Time ends on 25 October 2026 at 01:00 UTC (IANA data, file europe).
    const changed = '2026-10-25';
    const [first] = planned({ nowMs: at('12:00', changed) }).slots;
    expect(first).toMatchObject({
      dueAtMs: Date.UTC(2026, 9, 25, 8),
      opensAtMs: Date.UTC(2026, 9, 25, 6),
      closesAtMs: Date.UTC(2026, 9, 25, 14),
    });
  });

  it('is not shown for what was over before the program began, nor ever missed for what was due before', () => {
    const sinceMs = at('10:00');
    expect(today({ sinceMs, nowMs: at('10:30') })).toEqual(['due', 'later']);
    expect(today({ sinceMs, nowMs: at('15:30') })).toEqual(['due']);
    expect(today({ sinceMs: at('15:00'), nowMs: at('15:30') })).toEqual(['due']);
    expect(
      today({ sinceMs: at('16:00'), nowMs: at('16:30'), heard: new Map([[`${day}#1`, 'done']]) }),
    ).toEqual(['done', 'due']);
  });
});

describe('a week with days off', () => {
  const rhythm = { ...twice, daysAWeek: 2 };
  const done = (...slots: string[]) => new Map(slots.map((slot): [string, Heard] => [slot, 'done']));

  it('leaves out the days that are free, and begins again on Monday', () => {
    const heard = done('2026-11-23#1', '2026-11-24#2');
    expect(planned({ rhythm, heard, nowMs: at('08:00') })).toMatchObject({ weekIsDone: true, slots: [] });
    // On Saturday, Monday is the day after next: 30 November 2026.
    const saturday = planned({ rhythm, heard, nowMs: at('08:00', '2026-11-28') });
    expect(saturday.slots.map(({ slot }) => slot)).toEqual(['2026-11-30#1', '2026-11-30#2']);
    expect(planned({ rhythm, heard, nowMs: at('08:00', '2026-11-30') }).weekIsDone).toBe(false);
  });

  it('counts a day once, and lets a day that counts be finished', () => {
    const one = done('2026-11-23#1', '2026-11-23#2');
    expect(planned({ rhythm, heard: one, nowMs: at('08:00') })).toMatchObject({ weekIsDone: false });
    const heard = done('2026-11-23#1', `${day}#1`);
    expect(planned({ rhythm, heard, nowMs: at('16:00') }).weekIsDone).toBe(true);
    expect(states({ rhythm, heard, nowMs: at('16:00') })).toEqual(['2026-11-25#1 done', '2026-11-25#2 due']);
  });

  it('does not count what was begun only, and still shows it on a free day', () => {
    const heard = done('2026-11-23#1').set('2026-11-24#1', 'begun');
    expect(planned({ rhythm, heard, nowMs: at('08:00') }).weekIsDone).toBe(false);
    const free = done('2026-11-23#1', '2026-11-24#1').set(`${day}#1`, 'begun');
    expect(states({ rhythm, heard: free, nowMs: at('16:00') })).toEqual([`${day}#1 begun`]);
  });

  it('never ends early when every day is prescribed', () => {
    const all = Array.from({ length: 7 }, (_, ahead) => `${addDays('2026-11-23', ahead)}#1`);
    const plan = planned({ heard: done(...all), nowMs: at('18:00', '2026-11-29') });
    expect(plan.weekIsDone).toBe(false);
    expect(plan.slots[1]?.state).toBe('due');
  });
});

const inputs: fc.Arbitrary<PlannedInput> = rhythms.chain((rhythm) =>
  fc
    .record({
      nowMs: fc.integer({ min: Date.UTC(2026, 7, 1), max: Date.UTC(2027, 7, 1) }),
      doneHoursAgo: fc.option(fc.double({ min: 0, max: 30, noNaN: true })),
      sinceDaysAgo: fc.double({ min: -2, max: 10, noNaN: true }),
      happened: fc.array(
        fc.tuple(
          fc.integer({ min: -7, max: 2 }),
          fc.integer({ min: 1, max: 3 }),
          fc.constantFrom('done', 'begun', 'skipped'),
        ),
        { maxLength: 12 },
      ),
    })
    .map(({ nowMs, doneHoursAgo, sinceDaysAgo, happened }) => {
      const first = isoDayIn(nowMs, rhythm.zone);
      const named = happened.map(([ahead, number, what]) => ({
        slot: `${addDays(first, ahead)}#${number}`,
        what,
      }));
      return {
        rhythm,
        nowMs,
        sinceMs: nowMs - Math.round(sinceDaysAgo * 86_400_000),
        lastDoneAtMs: doneHoursAgo === null ? null : nowMs - Math.round(doneHoursAgo * 3_600_000),
        heard: new Map(
          named.flatMap(({ slot, what }): [string, Heard][] => (what === 'skipped' ? [] : [[slot, what]])),
        ),
        notToday: new Set(named.filter(({ what }) => what === 'skipped').map(({ slot }) => slot)),
      };
    }),
);

describe('whatever was prescribed, listened to and put off, at any moment', () => {
  it('at most one session is due, and only in its hours', () => {
    fc.assert(
      fc.property(inputs, (input) => {
        const { slots } = plannedStates(input);
        const due = slots.filter(({ state }) => state === 'due');
        const { lastDoneAtMs, nowMs } = input;
        if (lastDoneAtMs !== null && nowMs - lastDoneAtMs < 3 * 3_600_000) expect(due).toEqual([]);
        expect(due.length).toBeLessThanOrEqual(1);
        for (const { opensAtMs, closesAtMs } of due) {
          expect(input.nowMs).toBeGreaterThanOrEqual(opensAtMs);
          expect(input.nowMs).toBeLessThan(closesAtMs);
        }
      }),
      { numRuns: 1_000 },
    );
  });

  it('what was done or begun is never due, later, missed or skipped', () => {
    fc.assert(
      fc.property(inputs, (input) => {
        for (const { slot, state } of plannedStates(input).slots) {
          const heard = input.heard.get(slot);
          if (heard !== undefined) expect(state).toBe(heard);
          else expect(state === 'skipped').toBe(input.notToday.has(slot));
          expect(state === 'done' && heard === undefined).toBe(false);
        }
      }),
      { numRuns: 1_000 },
    );
  });

  it('slots stand in the order of their times, each once, and their hours do not overlap', () => {
    fc.assert(
      fc.property(inputs, (input) => {
        const { day: first, slots } = plannedStates(input);
        const allowed = [0, 1, 2].flatMap((ahead) => slotsOf(input.rhythm, addDays(first, ahead)));
        const names = slots.map(({ slot }) => slot);
        expect(names).toEqual(allowed.map(({ slot }) => slot).filter((slot) => names.includes(slot)));
        slots.forEach((slot, index) => {
          const restedMs = input.lastDoneAtMs === null ? 0 : input.lastDoneAtMs + 3 * 3_600_000;
          expect(slot.opensAtMs).toBeLessThanOrEqual(Math.max(slot.dueAtMs, restedMs));
          expect(slot.closesAtMs).toBeGreaterThanOrEqual(slot.dueAtMs);
          const before = slots[index - 1];
          if (before !== undefined) expect(slot.opensAtMs).toBeGreaterThanOrEqual(before.closesAtMs);
        });
      }),
      { numRuns: 1_000 },
    );
  });

  it('by the clock alone, what is missed comes before what is due, and that before what is later', () => {
    const ranks = { missed: 0, due: 1, later: 2 };
    fc.assert(
      fc.property(inputs, (input) => {
        const order = plannedStates(input).slots.flatMap(({ state }) =>
          state === 'missed' || state === 'due' || state === 'later' ? [ranks[state]] : [],
        );
        expect(order).toEqual([...order].sort((a, b) => a - b));
      }),
      { numRuns: 1_000 },
    );
  });

  it('no more days of a week are begun than prescribed, when each day that is offered is done at once', () => {
    fc.assert(
      fc.property(rhythms, fc.integer({ min: 0, max: 300 }), (anywhere, ahead) => {
        // Without clock changes: they could move two sessions onto one moment.
        const rhythm = { ...anywhere, zone: 'UTC' };
        const monday = mondayOf(addDays('2026-08-03', ahead));
        const week = Array.from({ length: 7 }, (_, index) => addDays(monday, index));
        const offered = week.filter((each) => slotsOf(rhythm, each).length > 0);
        const heard = new Map<string, Heard>();
        for (const each of week) {
          for (const { dueAtMs } of slotsOf(rhythm, each)) {
            const { slots } = plannedStates({
              rhythm,
              nowMs: dueAtMs,
              sinceMs: 0,
              lastDoneAtMs: null,
              heard,
              notToday: new Set(),
            });
            for (const { slot, state } of slots) if (state === 'due') heard.set(slot, 'done');
          }
        }
        const expected = offered.slice(0, rhythm.daysAWeek).flatMap((each) => slotsOf(rhythm, each));
        expect([...heard.keys()]).toEqual(expected.map(({ slot }) => slot));
      }),
    );
  });
});
