import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { tallyOf } from '../../src/followup/adherence.js';
import { outcomesOf } from '../../src/followup/outcomes.js';
import { addDays, mondayOf } from '../../src/schedule/wallClock.js';
import { at, dayAgo, Life, nowMs, slotAgo, today } from './happened.js';

const kinds = (life: Life) =>
  Object.fromEntries(outcomesOf(life.happened).map(({ slot, kind, excuse }) => [slot, excuse ?? kind]));
const only = (life: Life, slot: string) => {
  const found = outcomesOf(life.happened).find((each) => each.slot === slot);
  if (found === undefined) throw new RangeError(`nothing came of ${slot}`);
  return found;
};

describe('what came of a session', () => {
  it('is done to the end or nine tenths of it, partly when begun, and otherwise missed', () => {
    const life = new Life(4).listen(slotAgo(4), 1).listen(slotAgo(3), 0.9).listen(slotAgo(2), 0.4);
    expect(kinds(life)).toEqual({
      [slotAgo(4)]: 'done',
      [slotAgo(3)]: 'done',
      [slotAgo(2)]: 'partly',
      [slotAgo(1)]: 'missed',
    });
  });

  it('is judged by the length of the easier session where one was chosen', () => {
    // A third of the whole one is all of the shorter one; the length of a lighter one is not known any more here.
    const life = new Life(2)
      .listen(slotAgo(2), 1 / 3, { choice: 'shorter' })
      .listen(slotAgo(1), 1 / 3, { choice: 'lighter' });
    expect(kinds(life)).toEqual({ [slotAgo(2)]: 'done', [slotAgo(1)]: 'partly' });
    expect(tallyOf(outcomesOf(life.happened))).toMatchObject({ done: 1, easier: 1, wanted: 2 });
  });

  it('is reported where another player played it, and what was heard counts before what is said', () => {
    const life = new Life(4)
      .say(slotAgo(4), { done: 'all' })
      .say(slotAgo(3), { done: 'some' })
      .listen(slotAgo(2), 0.5)
      .say(slotAgo(2), { done: 'all' })
      .say(slotAgo(1), { done: 'none' });
    life.fetched.add(slotAgo(4));
    expect(kinds(life)).toEqual({
      [slotAgo(4)]: 'done',
      [slotAgo(3)]: 'partly',
      [slotAgo(2)]: 'partly',
      [slotAgo(1)]: 'missed',
    });
    expect(only(life, slotAgo(4)).isContradictory, 'another player').toBe(false);
    expect(only(life, slotAgo(2)).isContradictory, 'all of it, but half was heard').toBe(true);
  });

  it('is shown as it was told: nothing done, and pain of nine', () => {
    const life = new Life(2).listen(slotAgo(1), 1).say(slotAgo(1), { done: 'none', painAfter: 9 });
    expect(only(life, slotAgo(1))).toMatchObject({
      kind: 'done',
      isContradictory: true,
      checkIns: [{ answers: { done: 'none', painAfter: 9 } }],
    });
    const still = new Life(2).say(slotAgo(1), { done: 'none', painAfter: 9 });
    expect(only(still, slotAgo(1))).toMatchObject({
      kind: 'missed',
      isContradictory: false,
      checkIns: [{ answers: { painAfter: 9 } }],
    });
  });

  it('is excused when it was taken off the plan, unless it was done before', () => {
    const life = new Life(3, { timesADay: 2 }).listen(slotAgo(2), 1, { startedAtMs: at(dayAgo(2), 7) });
    life.plan.states.push({ state: 'paused', atMs: at(dayAgo(2), 8) });
    life.listen(slotAgo(1), 1);
    expect(kinds(life)).toEqual({
      [slotAgo(3, 1)]: 'missed',
      [slotAgo(3, 2)]: 'missed',
      [slotAgo(2, 1)]: 'done',
      [slotAgo(2, 2)]: 'off-plan',
      [slotAgo(1, 1)]: 'done',
      [slotAgo(1, 2)]: 'off-plan',
      [`${today}#1`]: 'off-plan',
    });
    expect(only(life, slotAgo(2)).isPlanned, 'before the pause').toBe(true);
    expect(only(life, slotAgo(1)).isPlanned, 'although it was paused').toBe(false);
  });

  it('is excused for the rest of the day of whoever is in pain or ill, of whatever program', () => {
    const life = new Life(4, { timesADay: 2 })
      .notToday(slotAgo(3, 2), 'pain')
      .notToday(slotAgo(2, 1), 'no-time')
      .notToday(slotAgo(1, 1), 'unwell', 'another program')
      .listen(slotAgo(3, 2), 1);
    expect(kinds(life)).toMatchObject({
      [slotAgo(4, 1)]: 'missed',
      [slotAgo(3, 1)]: 'missed',
      [slotAgo(3, 2)]: 'done',
      [slotAgo(2, 1)]: 'missed',
      [slotAgo(1, 1)]: 'unwell',
      [slotAgo(1, 2)]: 'unwell',
    });
    expect(only(life, slotAgo(2)).putOff).toBe('no-time');
  });

  it('lands on the version that was listened to, also when it is told after the next was signed', () => {
    const life = new Life(4)
      .sign(at(dayAgo(2), 5))
      .listen(slotAgo(1), 1, { versionNumber: 1 })
      .say(slotAgo(3), { done: 'some' }, { atMs: at(dayAgo(1), 3) });
    expect(only(life, slotAgo(1)).versionNumber).toBe(1);
    expect(only(life, slotAgo(3)).versionNumber).toBe(1);
    expect(only(life, slotAgo(2)).versionNumber, 'the one that planned it').toBe(2);
  });

  it('is kept of every device; the one that came to the end counts', () => {
    const life = new Life(2)
      .listen(slotAgo(1), 1, { versionNumber: 1 })
      .listen(slotAgo(1), 0.1, { versionNumber: 2, startedAtMs: at(dayAgo(1), 15) })
      .sign(at(dayAgo(1), 14));
    expect(only(life, slotAgo(1))).toMatchObject({ kind: 'done', versionNumber: 1 });
    expect(only(life, slotAgo(1)).listened).toHaveLength(2);
  });

  it('is practice when no plan knew it', () => {
    const life = new Life(2).listen(slotAgo(9), 1).notToday(slotAgo(8), 'away');
    expect(only(life, slotAgo(9))).toMatchObject({
      isPlanned: false,
      kind: 'done',
      dueAtMs: at(dayAgo(9), 10),
    });
    expect(kinds(life), 'what was only put off is nothing').not.toHaveProperty(slotAgo(8));
  });

  it('is not told before it is over', () => {
    const life = new Life(1).listen(slotAgo(1), 1);
    expect(kinds(life)).toEqual({ [slotAgo(1)]: 'done' });
    const going = { startedAtMs: nowMs - 300_000, stoppedAtMs: null };
    expect(kinds(new Life(0).listen(`${today}#1`, 0.3, going)), 'it still plays').toEqual({});
    expect(kinds(new Life(0).listen(`${today}#1`, 0.3)), 'broken off this morning').toEqual({
      [`${today}#1`]: 'partly',
    });
    expect(kinds(new Life(0).notToday(`${addDays(today, 1)}#1`, 'away')), 'of tomorrow').toEqual({});
  });
});

describe('a program of some days a week', () => {
  const monday = addDays(mondayOf(today), -7);
  const day = (index: number) => addDays(monday, index);
  const three = () => new Life(24, { daysAWeek: 3 });
  const weekOf = (life: Life, from = monday) =>
    outcomesOf(life.happened)
      .filter((each) => mondayOf(each.day) === from)
      .map(({ kind, excuse }) => excuse ?? kind);

  it('leaves its other days free once enough are done', () => {
    const life = three();
    for (const index of [0, 2, 5]) life.listen(`${day(index)}#1`, 1);
    expect(weekOf(life)).toEqual(['done', 'free-day', 'done', 'free-day', 'free-day', 'done', 'free-day']);
  });

  it('has missed as many as were wanted and not done, the latest of its days', () => {
    const life = three()
      .listen(`${day(1)}#1`, 1)
      .listen(`${day(4)}#1`, 0.3);
    expect(weekOf(life)).toEqual([
      ...['free-day', 'done', 'free-day', 'free-day', 'partly', 'free-day', 'missed'],
    ]);
    expect(weekOf(three()).slice(4)).toEqual(['missed', 'missed', 'missed']);
  });

  it('has missed nothing while its days can still be made up for', () => {
    // Thursday: it and three more days are to come.
    expect(weekOf(three(), mondayOf(today))).toEqual(['free-day', 'free-day', 'free-day']);
    const five = new Life(24, { daysAWeek: 5 });
    expect(weekOf(five, mondayOf(today))).toEqual(['free-day', 'free-day', 'missed']);
  });

  it('never misses more days than it wants, nor fewer than can no longer be done', () => {
    const done = fc.uniqueArray(fc.integer({ min: 0, max: 6 }));
    fc.assert(
      fc.property(done, fc.integer({ min: 1, max: 6 }), (indexes, daysAWeek) => {
        const life = new Life(24, { daysAWeek });
        for (const index of indexes) life.listen(`${day(index)}#1`, 1);
        const week = weekOf(life);
        const count = (kind: string) => week.filter((each) => each === kind).length;
        expect(count('done')).toBe(indexes.length);
        expect(count('missed')).toBe(Math.max(0, daysAWeek - indexes.length));
      }),
      { numRuns: 60 },
    );
  });
});

describe('any order and doubling of what was told', () => {
  const slot = fc
    .tuple(fc.integer({ min: 0, max: 9 }), fc.integer({ min: 1, max: 2 }))
    .map(([days, index]) => slotAgo(days, index));
  const happening = fc.oneof(
    fc.record({
      do: fc.constant('listen' as const),
      slot,
      part: fc.constantFrom(0.1, 0.5, 0.95, 1),
      version: fc.constantFrom(1, 2),
    }),
    fc.record({ do: fc.constant('say' as const), slot, done: fc.constantFrom('all', 'some', 'none', null) }),
    fc.record({
      do: fc.constant('not-today' as const),
      slot,
      reason: fc.constantFrom('pain', 'away', 'other'),
    }),
  );

  it('gives the same', () => {
    const told = fc.array(happening, { maxLength: 14 });
    fc.assert(
      fc.property(
        told,
        fc.integer({ min: 2, max: 7 }),
        fc.infiniteStream(fc.nat()),
        (happenings, daysAWeek, chance) => {
          const life = new Life(7, { timesADay: 2, daysAWeek }).sign(at(dayAgo(3), 9), { timesADay: 1 });
          for (const each of happenings) {
            if (each.do === 'listen') life.listen(each.slot, each.part, { versionNumber: each.version });
            else if (each.do === 'say')
              life.say(each.slot, { done: each.done as 'all' | 'some' | 'none' | null });
            else life.notToday(each.slot, each.reason as 'pain' | 'away' | 'other');
          }
          const { happened } = life;
          const mixed = <Item>(items: readonly Item[]): Item[] =>
            [...items, ...items.slice(0, 3)]
              .map((item) => [chance.next().value ?? 0, item] as const)
              .sort(([a], [b]) => a - b)
              .map(([, item]) => item);
          expect(
            outcomesOf({
              ...happened,
              occurrences: mixed(happened.occurrences.slice()),
              listened: mixed(happened.listened),
              checkIns: mixed(happened.checkIns),
              putOff: mixed(happened.putOff),
            }),
          ).toEqual(outcomesOf(happened));
        },
      ),
      { numRuns: 150 },
    );
  });
});
