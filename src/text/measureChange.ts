import { changeBetween, type Taken } from '../followup/change.js';
import type { Measure } from '../followup/measures.js';
import { numberText, valueText } from '../followup/units.js';
import type { Words } from './words.js';

/** Formats a value for pages, with a true minus sign. */
export function shownValue(value: number, measure: Measure): string {
  return valueText(value, measure).replace('-', '\u2212');
}

/** Describes a change from one value to a later one, in the parts that a page puts together. */
export function changeView(
  measure: Measure,
  { from, to }: { from: Taken; to: Taken },
  { measuring }: Words,
): { amount: string; percent: string | null; direction: string | null; verdict: string; isReal: boolean } {
  const { amount, percent, direction, verdict } = changeBetween(measure, from, to);
  const isReal = verdict !== 'within' && verdict !== 'no-number';
  const { realChange } = measure;
  // A scale of whole numbers without a unit counts points.
  const hasPoints = measure.unit === '' && measure.decimals === 0;
  const unit = hasPoints ? { unit: measuring.points, oneUnit: measuring.onePoint } : measure;
  const size = valueText(Math.abs(amount), { ...measure, ...unit });
  const sign = signOf(amount);
  return {
    amount: `${sign}${size}`,
    percent:
      realChange.kind === 'amount-and-percent' && percent !== null && amount !== 0
        ? `${sign}${numberText(Math.abs(percent), 0)}`
        : null,
    // A change that may be chance is neither better nor worse.
    direction: isReal ? measuring.directions[direction] || null : null,
    verdict: measuring.verdicts[verdict],
    isReal,
  };
}

function signOf(amount: number): string {
  return amount > 0 ? '+' : amount < 0 ? '\u2212' : '';
}
