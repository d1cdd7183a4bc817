import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { runTasksByClock } from '../../src/reminders/runTasksByClock.js';

const eachSecond = { everyMs: 1_000, times: '* * * * * *', stillAfterMs: 3_500 };

beforeEach(() => {
  vi.useFakeTimers({ now: Date.UTC(2026, 10, 25, 9, 0, 0, 500) });
});
afterEach(() => {
  vi.useRealTimers();
});

describe('work by the clock', () => {
  it('begins anew only once it has ended, and goes on after a failure', async () => {
    const ends: ((failure?: Error) => void)[] = [];
    const work = () =>
      new Promise<void>((resolve, reject) => {
        ends.push((failure) => (failure === undefined ? resolve() : reject(failure)));
      });
    const failed: unknown[] = [];
    const printed = vi.spyOn(console, 'warn');
    const clock = runTasksByClock([{ ...eachSecond, what: 'looking', work }], (what) => failed.push(what));
    await vi.advanceTimersByTimeAsync(5_000);
    expect(ends, 'the first one goes on').toHaveLength(1);
    ends[0]?.(new Error('gone'));
    await vi.advanceTimersByTimeAsync(2_000);
    expect([ends.length, failed]).toEqual([2, ['looking']]);
    expect(printed, 'nobody is told of what is usual').not.toHaveBeenCalled();

    await clock.end();
    let hasSettled = false;
    const settled = clock.settled().then(() => {
      hasSettled = true;
    });
    await vi.advanceTimersByTimeAsync(5_000);
    expect([ends.length, hasSettled], 'nothing begins, what is under way is waited for').toEqual([2, false]);
    ends[1]?.();
    await settled;
    printed.mockRestore();
  });

  it('begins at once, and by a clock that nobody sets beside the ticks', async () => {
    let looks = 0;
    const work = async () => {
      looks += 1;
    };
    const seldom = { what: 'looking', everyMs: 30_000, times: '0 0 1 1 *', stillAfterMs: null, work };
    const clock = runTasksByClock([seldom], () => undefined);
    await vi.advanceTimersByTimeAsync(0);
    expect(looks, 'without waiting for a tick').toBe(1);
    await vi.advanceTimersByTimeAsync(60_000);
    expect(looks).toBe(3);
    await clock.end();
  });

  it.each([
    ['on', 7_200_000],
    ['back', -7_200_000],
  ])('looks at once when the wall clock goes %s, and anew at what was under way', async (_way, byMs) => {
    let looks = 0;
    const ends: (() => void)[] = [];
    const quick = async () => {
      looks += 1;
    };
    const slow = () => new Promise<void>((resolve) => ends.push(resolve));
    const seldom = { everyMs: 900_000, times: '0 0 1 1 *', stillAfterMs: null };
    let shiftMs = 0;
    const clock = runTasksByClock(
      [
        { ...seldom, what: 'quick', work: quick },
        { ...seldom, what: 'slow', work: slow },
      ],
      () => undefined,
      { wallMs: () => performance.now() + shiftMs },
    );
    await vi.advanceTimersByTimeAsync(10_000);
    expect([looks, ends.length]).toEqual([1, 1]);
    shiftMs = byMs;
    await vi.advanceTimersByTimeAsync(1_000);
    expect([looks, ends.length], 'not twice at a time').toEqual([2, 1]);
    ends[0]?.();
    await vi.advanceTimersByTimeAsync(10_000);
    expect([looks, ends.length], 'once each').toEqual([2, 2]);
    await clock.end();
  });

  it('stands still when it neither ends nor gets on, or fails each time; not while it gets on', async () => {
    let getsOn: () => void = () => undefined;
    const each = { everyMs: 10_000, times: '0 0 1 1 *', stillAfterMs: 45_000 };
    const clock = runTasksByClock(
      [
        { ...each, what: 'hangs', work: () => new Promise(() => undefined) },
        { ...each, what: 'fails', work: () => Promise.reject(new Error('no such column')) },
        { ...each, what: 'works', work: async () => undefined },
        {
          ...each,
          what: 'has much to do',
          work: (beat) => {
            getsOn = beat;
            return new Promise(() => undefined);
          },
        },
      ],
      () => undefined,
    );
    await vi.advanceTimersByTimeAsync(40_000);
    expect(clock.standsStill()).toEqual([]);
    getsOn();
    await vi.advanceTimersByTimeAsync(20_000);
    expect(clock.standsStill(), 'within a minute').toEqual(['hangs', 'fails']);
    await clock.end();
  });
});
