import { getEventListeners } from 'node:events';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { withDeadline } from '../../src/channels/deadline.js';

/** Work that ends when its signal says so. */
const untilTold = (signal: AbortSignal) =>
  new Promise<string>((resolve) => {
    if (signal.aborted) resolve('at once');
    signal.addEventListener('abort', () => resolve('told'), { once: true });
  });

describe('a deadline', () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it('tells the work when its time is over, and not before', async () => {
    const told: string[] = [];
    const work = withDeadline(new AbortController().signal, 1_000, untilTold).then((words) =>
      told.push(words),
    );
    await vi.advanceTimersByTimeAsync(999);
    expect(told).toEqual([]);
    await vi.advanceTimersByTimeAsync(1);
    await work;
    expect(told).toEqual(['told']);
  });

  it('tells it sooner when the caller does', async () => {
    const outer = new AbortController();
    const work = withDeadline(outer.signal, 1_000, untilTold);
    outer.abort();
    expect(await work).toBe('told');
    expect(await withDeadline(outer.signal, 1_000, untilTold)).toBe('at once');
  });

  it.each([
    ['ends', async () => 'done'],
    ['fails', async () => Promise.reject(new Error('no'))],
  ])('leaves nothing behind when the work %s', async (_how, work) => {
    const { signal } = new AbortController();
    await withDeadline(signal, 1_000, work).catch(() => undefined);
    expect(vi.getTimerCount()).toBe(0);
    expect(getEventListeners(signal, 'abort')).toEqual([]);
  });
});
