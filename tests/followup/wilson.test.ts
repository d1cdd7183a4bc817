import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shareOf } from '../../src/followup/wilson.js';

describe('the interval of a share', () => {
  it.each([
    // Newcombe 1998, Stat Med 17:857, table I, method 3 (Wilson, without correction), to four decimals; from memory.
    [81, 263, 0.2553, 0.3662, 4],
    [15, 148, 0.0624, 0.1605, 4],
    [0, 20, 0, 0.1611, 4],
    [1, 29, 0.0061, 0.1718, 4],
    // A public worked example in R, cars of `mtcars` with at least 25 miles to the gallon: 6 of 32.
    [6, 32, 0.08889545, 0.35309155, 8],
    // 8 of 10, worked out by hand from the formula.
    [8, 10, 0.49, 0.943, 3],
  ])('of %i in %i is as published', (done, of, low, high, digits) => {
    expect(shareOf(done, of)?.low).toBeCloseTo(low, digits);
    expect(shareOf(done, of)?.high).toBeCloseTo(high, digits);
  });

  it('of none is none', () => {
    expect(shareOf(0, 0)).toBeNull();
  });

  it('ends where the score test of the share would just not be significant', () => {
    const counts = fc
      .integer({ min: 1, max: 800 })
      .chain((of) => fc.tuple(fc.integer({ min: 0, max: of }), fc.constant(of)));
    fc.assert(
      fc.property(counts, ([done, of]) => {
        const share = shareOf(done, of);
        if (share === null) throw new RangeError('there are sessions');
        const { value, low, high } = share;
        expect(0 <= low && low <= value && value <= high && high <= 1).toBe(true);
        if (done > 0) expect(low).toBeCloseTo(solved(value, of, 0), 8);
        if (done < of) expect(high).toBeCloseTo(solved(value, of, 1), 8);
      }),
      { numRuns: 300 },
    );
  });
});

/** Where |value - p| / sqrt(p (1 - p) / of) reaches the 97.5th percentile of the normal distribution, by bisection. */
function solved(value: number, of: number, towards: 0 | 1): number {
  let [inside, outside] = [value, towards as number];
  for (let step = 0; step < 200; step += 1) {
    const p = (inside + outside) / 2;
    const isInside = Math.abs(value - p) <= 1.959963984540054 * Math.sqrt((p * (1 - p)) / of);
    if (isInside) inside = p;
    else outside = p;
  }
  return inside;
}
