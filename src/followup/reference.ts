import type { BelowAverage, Consideration, Measure } from './measures.js';
import { roundBinaryError } from './units.js';

/**
 * The ages a person may have on a day if only the birth year is known: two, except on the last day of a year and in the
 * birth year.
 */
export function agesOn(birthYear: number, day: string): number[] {
  const years = Number(day.slice(0, 4)) - birthYear;
  return day.endsWith('-12-31') || years <= 0 ? [Math.max(years, 0)] : [years - 1, years];
}

/** A value compared with the cut-offs for one age band; both sexes, because the record does not hold one. */
export type BelowAverageAt = {
  from: number;
  until: number;
  men: { cutOff: number; isBelow: boolean };
  women: { cutOff: number; isBelow: boolean };
};

/**
 * What an age table says about a value: one band, or two if the age on that day may be in either; empty for ages not in
 * the table.
 */
export function belowAverageAt(
  { ages }: BelowAverage,
  value: number,
  possibleAges: readonly number[],
): BelowAverageAt[] {
  const bands = ages.filter(({ from, until }) => possibleAges.some((age) => age >= from && age <= until));
  const held = (cutOff: number) => ({ cutOff, isBelow: value < cutOff });
  return bands.map(({ from, until, men, women }) => ({ from, until, men: held(men), women: held(women) }));
}

/** The name of the published band for a value; null without bands, and at 0, which none of them covers. */
export function bandOf({ bands }: Measure, value: number): string | null {
  if (bands === undefined || value <= 0) return null;
  return bands.steps.find(({ upTo }) => upTo === undefined || value <= upTo)?.words ?? null;
}

/** What considerations look at, oldest value first. */
export type Considered = {
  values: readonly number[];
  /** The last value of another measure, or null; `sameDay`: from the day on which the last value here was taken. */
  lastOf: (measureId: string, sameDay: boolean) => number | null;
  /** The ages the patient may have; null if unknown. */
  possibleAges: readonly number[] | null;
};

/** A consideration that applies to the last value, with the value or the loss it is based on. */
export type Applying = { consideration: Consideration; found: number };

/** The applicable considerations. An age that is unknown, or may have been reached, counts as reached. */
export function applyingTo({ considerations }: Measure, considered: Considered): Applying[] {
  return considerations.flatMap((consideration) => {
    const { fromAge } = consideration;
    const { possibleAges } = considered;
    const isOfAge =
      fromAge === undefined || possibleAges === null || possibleAges.some((age) => age >= fromAge);
    const found = isOfAge ? foundFor(consideration, considered) : null;
    return found === null ? [] : [{ consideration, found }];
  });
}

function foundFor({ when }: Consideration, { values, lastOf }: Considered): number | null {
  const last = values.at(-1);
  if (last === undefined) return null;
  if (when.kind === 'at-least') return last >= when.value ? last : null;
  if (when.kind === 'above') return last > when.value ? last : null;
  if (when.kind === 'at-most') return last <= when.value ? last : null;
  const before =
    when.kind === 'loss-since' ? lastOf(when.measure, when.sameDay) : Math.max(...values.slice(0, -1));
  const loss = before === null ? 0 : roundBinaryError(before - last);
  return loss >= when.amount ? loss : null;
}
