import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { longestWaitMs, nextAttemptMs } from '../../src/reminders/retries.js';

describe('R4: what did not work', () => {
  it('R4: is tried again after 30 s, then after twice as long, up to a quarter of an hour', () => {
    const waits = [1, 2, 3, 4, 5, 6, 7, 20].map((attempts) =>
      nextAttemptMs({ attempts, nowMs: 0, goodUntilMs: Number.MAX_SAFE_INTEGER }, () => 0.5),
    );
    // The table in DEVELOPERS.md.
    expect(waits).toEqual([30_000, 60_000, 120_000, 240_000, 480_000, 900_000, 900_000, 900_000]);
  });

  it('R4: is never tried again at the end of its time or after it', () => {
    const at = (goodUntilMs: number) => nextAttemptMs({ attempts: 1, nowMs: 0, goodUntilMs }, () => 0.5);
    expect(at(30_001)).toBe(30_000);
    expect(at(30_000)).toBeNull();
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 30 }),
        fc.nat({ max: 1e13 }),
        fc.nat({ max: 86_400_000 }),
        fc.double({ min: 0, max: 1, noNaN: true, maxExcluded: true }),
        (attempts, nowMs, leftMs, random) => {
          const goodUntilMs = nowMs + leftMs;
          const nextMs = nextAttemptMs({ attempts, nowMs, goodUntilMs }, () => random);
          if (nextMs === null) return;
          expect(nextMs).toBeGreaterThan(nowMs);
          expect(nextMs).toBeLessThan(goodUntilMs);
          expect(nextMs - nowMs).toBeLessThanOrEqual(longestWaitMs);
        },
      ),
    );
  });
});
