import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  isDone,
  isWholeSession,
  type KeptStep,
  type Listened,
  summarizeSlots,
  sumUp,
} from '../../src/listening/listened.js';
import { easierChoices, type ListeningStep, listeningSteps } from '../../src/listening/report.js';

const slot = '2026-11-25#1';
const startMs = Date.UTC(2026, 10, 25, 8);

/** A step, `second` seconds after the beginning. */
function step(
  what: ListeningStep,
  second: number,
  positionSecond: number,
  more: Partial<KeptStep> = {},
): KeptStep {
  return {
    listeningId: 'one',
    prescriptionId: 'program',
    versionNumber: 1,
    sessionNumber: 4,
    slot,
    step: what,
    positionMs: positionSecond * 1000,
    atMs: startMs + second * 1000,
    caregiverId: null,
    choice: null,
    ...more,
  };
}

/** The one listening that the steps are of. */
function summed(...steps: KeptStep[]): Listened {
  const [listened, ...others] = sumUp(steps);
  if (listened === undefined || others.length > 0) throw new Error('not one listening');
  return listened;
}

describe('a listening', () => {
  it('is summed up from its steps', () => {
    expect(
      summed(
        step('started', 0, 0),
        step('reached', 60, 60),
        step('paused', 100, 100),
        step('resumed', 130, 95),
        step('paused', 200, 165),
        step('resumed', 260, 165),
        step('finished', 995, 900),
      ),
    ).toEqual({
      listeningId: 'one',
      prescriptionId: 'program',
      versionNumber: 1,
      sessionNumber: 4,
      slot,
      startedAtMs: startMs,
      lastAtMs: startMs + 995_000,
      // 100 s, then 70 s from a little before, then 735 s.
      heardMs: 905_000,
      reachedMs: 900_000,
      finishedAtMs: startMs + 995_000,
      pauseCount: 2,
      pausedMs: 90_000,
      stoppedAtMs: null,
      caregiverId: null,
      choice: null,
    });
  });

  it('that was broken off says where, and a pause without end adds no time', () => {
    expect(summed(step('started', 0, 0), step('paused', 30, 30), step('stopped', 4000, 30))).toMatchObject({
      reachedMs: 30_000,
      finishedAtMs: null,
      pauseCount: 1,
      pausedMs: 0,
      stoppedAtMs: startMs + 4_000_000,
    });
  });

  it('counts what was heard, not what was skipped, and no stretch longer than the time it took', () => {
    const skipped = summed(
      step('started', 0, 0),
      step('paused', 10, 10),
      step('resumed', 11, 600),
      step('finished', 21, 610),
    );
    expect(skipped).toMatchObject({ heardMs: 20_000, reachedMs: 610_000 });
    const forged = summed(step('started', 0, 0), step('reached', 5, 900));
    expect(forged.heardMs, 'five seconds, and two for the clock').toBe(7_000);
    expect(isDone(forged, 900_000)).toBe(false);
  });

  it('has one pause when the same is told twice, in whatever way', () => {
    const paused = step('paused', 30, 30);
    const twice = summed(paused, paused, step('paused', 32, 30), step('resumed', 90, 30));
    expect(twice).toMatchObject({ pauseCount: 1, pausedMs: 60_000, startedAtMs: paused.atMs });
  });

  it('belongs to whoever began it', () => {
    const begun = summed(step('finished', 900, 900), step('started', 0, 0, { caregiverId: 'Ines' }));
    expect(begun.caregiverId).toBe('Ines');
  });

  it('is told apart from others, the earliest first', () => {
    const other = { listeningId: 'two', slot: '2026-11-24#1' };
    const both = sumUp([step('started', 0, 0), step('started', -3600, 0, other), step('reached', 9, 9)]);
    expect(both.map(({ listeningId, reachedMs }) => [listeningId, reachedMs])).toEqual([
      ['two', 0],
      ['one', 9000],
    ]);
  });

  it('is done when finished, or from nine tenths on', () => {
    const reached = (second: number) => summed(step('started', 0, 0), step('reached', second, second));
    expect(isDone(reached(899), 1_000_000)).toBe(false);
    expect(isDone(reached(900), 1_000_000)).toBe(true);
    expect(isDone(summed(step('finished', 10, 10)), 1_000_000)).toBe(true);
  });

  it('to an easier session is done by that one’s own length, and is no whole one', () => {
    const easier = { choice: 'shorter' as const };
    const short = summed(step('started', 0, 0, easier), step('reached', 550, 550, easier));
    const lengthOf = ({ choice }: Listened) => (choice === 'shorter' ? 600_000 : 900_000);
    expect([...summarizeSlots([short], lengthOf)]).toEqual([[slot, 'done']]);
    expect(isWholeSession(short)).toBe(false);
    const whole = summed(step('started', 0, 0), step('reached', 550, 550));
    expect([...summarizeSlots([whole], lengthOf)]).toEqual([[slot, 'begun']]);
    expect(isWholeSession(whole)).toBe(true);
  });

  it('makes its slot done, also when the same slot was begun before or after', () => {
    const begun = { ...summed(step('started', 0, 0)), listeningId: 'begun' };
    const done = summed(step('finished', 900, 900));
    const elsewhere = { ...begun, slot: '2026-11-25#2' };
    const expected = [
      [slot, 'done'],
      ['2026-11-25#2', 'begun'],
    ];
    for (const listenings of [
      [begun, done, elsewhere],
      [done, begun, elsewhere],
    ]) {
      expect([...summarizeSlots(listenings, () => 900_000)]).toEqual(expected);
    }
  });
});

describe('whatever order steps come in', () => {
  const instants = fc.integer({ min: startMs, max: startMs + 20 });
  const steps: fc.Arbitrary<KeptStep> = fc.record({
    listeningId: fc.constantFrom('one', 'two'),
    prescriptionId: fc.constant('program'),
    versionNumber: fc.integer({ min: 1, max: 2 }),
    sessionNumber: fc.constant(4),
    slot: fc.constantFrom(slot, '2026-11-25#2'),
    step: fc.constantFrom(...listeningSteps),
    positionMs: fc.integer({ min: 0, max: 30 }),
    atMs: instants,
    caregiverId: fc.constantFrom(null, 'Ines'),
    choice: fc.constantFrom(null, ...easierChoices),
  });
  const many = fc.array(steps, { minLength: 1, maxLength: 25 });

  it('and however often each comes, the sum is the same', () => {
    const cases = many.chain((list) =>
      fc.record({
        list: fc.constant(list),
        again: fc.subarray(list),
        mixed: fc.shuffledSubarray(list, { minLength: list.length, maxLength: list.length }),
      }),
    );
    fc.assert(
      fc.property(cases, ({ list, again, mixed }) => {
        expect(sumUp([...again, ...mixed])).toEqual(sumUp(list));
      }),
      { numRuns: 500 },
    );
  });

  it('nothing is further than was told, paused for less than nothing, or longer than it all took', () => {
    fc.assert(
      fc.property(many, (list) => {
        const sums = sumUp(list);
        expect(new Set(sums.map(({ listeningId }) => listeningId))).toEqual(
          new Set(list.map(({ listeningId }) => listeningId)),
        );
        for (const sum of sums) {
          const own = list.filter(({ listeningId }) => listeningId === sum.listeningId);
          const atMs = own.map((each) => each.atMs);
          expect(sum.reachedMs).toBe(Math.max(...own.map(({ positionMs }) => positionMs)));
          expect(sum.startedAtMs).toBe(Math.min(...atMs));
          expect(sum.pausedMs).toBeGreaterThanOrEqual(0);
          expect(sum.heardMs).toBeGreaterThanOrEqual(0);
          expect(sum.heardMs).toBeLessThanOrEqual(Math.max(...atMs) - Math.min(...atMs) + 2_000 * own.length);
          expect(sum.pausedMs).toBeLessThanOrEqual(Math.max(...atMs) - Math.min(...atMs));
          expect(sum.pauseCount).toBeLessThanOrEqual(own.filter((each) => each.step === 'paused').length);
          expect(sum.finishedAtMs === null).toBe(!own.some((each) => each.step === 'finished'));
        }
      }),
      { numRuns: 500 },
    );
  });
});
