/** Chance that can be had again: the same seed, the same year. */
export type Chance = {
  /** From 0 to below 1. */
  next(): number;
  /** True so many times in a hundred. */
  percent(share: number): boolean;
  /** A whole number, both ends inside. */
  between(from: number, to: number): number;
};

/** A linear congruential generator with the constants of Numerical Recipes (from memory); good enough for made-up lives. */
export function chanceOf(seed: number): Chance {
  let state = (seed * 2_654_435_761) >>> 0;
  const next = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  return {
    next,
    percent: (share) => next() * 100 < share,
    between: (from, to) => from + Math.floor(next() * (to - from + 1)),
  };
}
