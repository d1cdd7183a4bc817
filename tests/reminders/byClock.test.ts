import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { byClock } from '../../src/reminders/byClock.js';

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
    const clock = byClock([{ ...eachSecond, what: 'looking', work }], (what) => failed.push(what));
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
});
