/** A share with its 95% interval; all from 0 to 1. */
export type Share = { value: number; low: number; high: number };

/** The 97.5th percentile of the normal distribution. */
const z = 1.959963984540054;

/**
 * A proportion with an interval that is honest about small samples: the Wilson score interval without continuity
 * correction (Wilson 1927, J Am Stat Assoc 22:209; recommended for small numbers by Newcombe 1998, Stat Med 17:857,
 * method 3).
 *
 * @param done whole number from 0 to `of`
 * @param of whole number; null is returned for 0, which has no proportion
 */
export function shareOf(done: number, of: number): Share | null {
  if (of === 0) return null;
  const value = done / of;
  const middle = (done + z ** 2 / 2) / (of + z ** 2);
  const half = (z / (of + z ** 2)) * Math.sqrt(of * value * (1 - value) + z ** 2 / 4);
  // Rounding may lead slightly beyond what was observed, or beyond 0 and 1.
  return {
    value,
    low: Math.min(value, Math.max(0, middle - half)),
    high: Math.max(value, Math.min(1, middle + half)),
  };
}
