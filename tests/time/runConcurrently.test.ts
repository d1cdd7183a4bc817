import { setImmediate } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { runConcurrently } from '../../src/time/runConcurrently.js';

describe('runConcurrently', () => {
  it('works on every item once, in order, never on more than it may at the same time', async () => {
    const begun: number[] = [];
    const workers = new Set<number>();
    let running = 0;
    let mostRunning = 0;
    await runConcurrently([1, 2, 3, 4, 5, 6, 7], 3, async (item, worker) => {
      begun.push(item);
      workers.add(worker);
      mostRunning = Math.max(mostRunning, ++running);
      await setImmediate();
      running -= 1;
    });
    expect(begun).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect([...workers].sort()).toEqual([0, 1, 2]);
    expect(mostRunning).toBe(3);
  });

  it('begins nothing new after a failure, and finishes what runs before it throws', async () => {
    const begun: number[] = [];
    const finished: number[] = [];
    const run = runConcurrently([1, 2, 3, 4], 2, async (item) => {
      begun.push(item);
      await setImmediate();
      if (item === 1) throw new RangeError('one');
      await setImmediate();
      finished.push(item);
    });
    await expect(run).rejects.toThrow('one');
    expect(begun).toEqual([1, 2]);
    expect(finished).toEqual([2]);
  });

  it('works with nobody allowed, and with nothing to do', async () => {
    const begun: number[] = [];
    await runConcurrently([1, 2], 0, async (item) => {
      begun.push(item);
    });
    await runConcurrently([], 4, () => Promise.reject(new Error('never called')));
    expect(begun).toEqual([1, 2]);
  });
});
