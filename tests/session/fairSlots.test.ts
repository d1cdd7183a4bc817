import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FairSlots, type SlotLimits } from '../../src/session/fairSlots.js';

const tooMuch = new Error('too much');
const limits: SlotLimits = {
  ...{ atOnce: 2, slowMs: 60_000, mostSlow: 8, mostWaiting: 100 },
  ...{ endsLane: () => false, tooMuch: () => tooMuch },
};

/** Of somebody who asks alone in a lane. */
const only = (lane: string) => ({ lane, who: 'only' });

/** Work that goes on until it is let go. */
function held(log: string[], name: string) {
  let letGo = () => {};
  const until = new Promise<string>((resolve) => {
    letGo = () => resolve(name);
  });
  const work = () => {
    log.push(name);
    return until;
  };
  return { work, letGo: () => letGo() };
}

/** Everything that can go on by itself has gone on. */
const settled = () => new Promise((resolve) => setImmediate(resolve));

describe('fair slots', () => {
  it('do one piece of a lane at a time, and let the lanes take turns', async () => {
    const begun: string[] = [];
    const slots = new FairSlots(limits);
    const works = ['a1', 'a2', 'a3', 'b1', 'b2', 'c1'].map((name) => held(begun, name));
    const done = works.map(({ work }, index) => slots.run(only('aaabbc'[index] ?? ''), work));
    await settled();
    expect(begun).toEqual(['a1', 'b1']);
    works[0]?.letGo();
    await done[0];
    await settled();
    expect(begun, 'c has not had its turn yet').toEqual(['a1', 'b1', 'c1']);
    for (const { letGo } of works) letGo();
    expect(await Promise.all(done)).toEqual(['a1', 'a2', 'a3', 'b1', 'b2', 'c1']);
  });

  it('make room beside what hangs, but not for everything at once', async () => {
    const begun: string[] = [];
    const slots = new FairSlots({ ...limits, atOnce: 1, slowMs: 20, mostSlow: 1 });
    const [first, second, third] = ['a', 'b', 'c'].map((name) => held(begun, name));
    if (first === undefined || second === undefined || third === undefined) return expect.unreachable();
    const done = [first, second, third].map(({ work }, index) => slots.run(only('abc'[index] ?? ''), work));
    await expect.poll(() => begun).toEqual(['a', 'b']);
    // The one that may be slow is a; b keeps the slot, however long it takes.
    await new Promise((resolve) => setTimeout(resolve, 60));
    expect(begun).toEqual(['a', 'b']);
    second.letGo();
    await expect.poll(() => begun).toEqual(['a', 'b', 'c']);
    first.letGo();
    third.letGo();
    await Promise.all(done);
  });

  it('tell everybody in a lane at once what holds for all of them, and nobody else', async () => {
    const silent = new Error('does not answer');
    const slots = new FairSlots({ ...limits, endsLane: (error) => error === silent });
    const fails = () => Promise.reject(silent);
    const inLane = [slots.run(only('a'), fails), slots.run(only('a'), async () => 'never begun')];
    const other = [slots.run(only('b'), fails), slots.run(only('c'), async () => 'done')];
    const outcomes = await Promise.allSettled([...inLane, ...other]);
    expect(outcomes.map(({ status }) => status)).toEqual(['rejected', 'rejected', 'rejected', 'fulfilled']);
    expect(await slots.run(only('a'), async () => 'again')).toBe('again');
  });

  it('let those who ask take turns within a lane, however much one of them asks for', async () => {
    const begun: string[] = [];
    const slots = new FairSlots(limits);
    const ask = (name: string) => {
      const { work, letGo } = held(begun, name);
      letGo();
      return slots.run({ lane: 'clinic', who: name.slice(0, 1) }, work);
    };
    const done = ['a1', 'a2', 'a3', 'a4', 'b1', 'b2'].map(ask);
    await done[0];
    done.push(ask('c1'));
    await Promise.all(done);
    // When a1 began nobody else had asked, so that a stands first in line once more, and then in turn.
    expect(begun).toEqual(['a1', 'a2', 'b1', 'c1', 'a3', 'b2', 'a4']);
  });

  it('refuse more than one who asks may have waiting, at once, and take others', async () => {
    const begun: string[] = [];
    const slots = new FairSlots({ ...limits, mostWaiting: 2 });
    const works = ['a1', 'a2', 'a3', 'a4', 'b1'].map((name) => held(begun, name));
    const [first, second, third, fourth, other] = works.map(({ work }, index) =>
      slots.run({ lane: 'clinic', who: index < 4 ? 'a' : 'b' }, work),
    );
    await expect(fourth, 'one under way, two waiting').rejects.toBe(tooMuch);
    for (const { letGo } of works) letGo();
    expect(await Promise.all([first, second, third, other])).toEqual(['a1', 'a2', 'a3', 'b1']);
    expect(await slots.run({ lane: 'clinic', who: 'a' }, async () => 'again')).toBe('again');
  });

  it('lose nothing and never do two of one lane at once, whatever comes in which order', async () => {
    const jobs = fc.array(
      fc.record({
        lane: fc.constantFrom('a', 'b', 'c'),
        who: fc.constantFrom('x', 'y'),
        fails: fc.boolean(),
      }),
    );
    await fc.assert(
      fc.asyncProperty(jobs, async (list) => {
        const slots = new FairSlots(limits);
        const underWay = new Map<string, number>();
        const outcomes = list.map(({ lane, who, fails }, index) =>
          slots.run({ lane, who }, async () => {
            underWay.set(lane, (underWay.get(lane) ?? 0) + 1);
            expect(underWay.get(lane)).toBe(1);
            expect([...underWay.values()].reduce((sum, each) => sum + each, 0)).toBeLessThanOrEqual(2);
            await settled();
            underWay.set(lane, 0);
            if (fails) throw new Error(String(index));
            return index;
          }),
        );
        const all = Promise.allSettled(outcomes);
        await slots.settled();
        expect((await all).map(({ status }) => status === 'rejected')).toEqual(
          list.map(({ fails }) => fails),
        );
      }),
      { numRuns: 50 },
    );
  });
});
