import type { Measure } from './measures.js';
import { roundBinaryError } from './units.js';

/** A recorded value of a measure. */
export type Taken = {
  /** In the unit of the measure. */
  value: number;
  /** `YYYY-MM-DD`. */
  takenOn: string;
  /** Who entered it, and is taken to have measured it. */
  clinicianId: string;
};

/**
 * How a change compares with the smallest real change: `more`, `within`, `more-by-amount` or `more-by-percent` if two
 * numbers are published and only one of them is reached, `no-number` if none is published.
 */
export const verdicts = ['more', 'more-by-amount', 'more-by-percent', 'within', 'no-number'] as const;
export type Verdict = (typeof verdicts)[number];

export const directions = ['better', 'worse', 'other', 'same'] as const;
type Direction = (typeof directions)[number];

export type Change = {
  /** The later value minus the earlier one, in the unit of the measure. */
  amount: number;
  /** Relative to the earlier value; null if that was 0. */
  percent: number | null;
  /** `other` if neither direction is better. */
  direction: Direction;
  verdict: Verdict;
  /** The published amount it was compared with; null if there is none. */
  needed: number | null;
};

/**
 * The change from one value to a later one. A change of exactly the published number counts as real, as it does in the
 * publications; for two raters, the number for two raters is used. Points and percent of pain were published for
 * decreases: for an increase, points alone decide.
 */
export function changeBetween({ realChange, better }: Measure, from: Taken, to: Taken): Change {
  const amount = roundBinaryError(to.value - from.value);
  const percent = from.value === 0 ? null : roundBinaryError((100 * amount) / Math.abs(from.value));
  const isBetter = better === 'higher' ? amount > 0 : amount < 0;
  const direction = amount === 0 ? 'same' : better === 'neither' ? 'other' : isBetter ? 'better' : 'worse';
  const known = { amount, percent, direction } as const;
  if (realChange.kind === 'not-published') return { ...known, verdict: 'no-number', needed: null };
  const isOneRater = from.clinicianId === to.clinicianId;
  const amongRaters = realChange.kind === 'amount' ? realChange.amongRaters : undefined;
  const needed = isOneRater ? realChange.amount : (amongRaters ?? realChange.amount);
  const byAmount = Math.abs(amount) >= needed;
  if (realChange.kind === 'amount' || direction !== 'better') {
    return { ...known, verdict: byAmount ? 'more' : 'within', needed };
  }
  const byPercent = percent !== null && Math.abs(percent) >= realChange.percent;
  if (byAmount && byPercent) return { ...known, verdict: 'more', needed };
  if (byAmount || byPercent) {
    return { ...known, verdict: byAmount ? 'more-by-amount' : 'more-by-percent', needed };
  }
  return { ...known, verdict: 'within', needed };
}
