import type { Measured } from '../../../clinic/followup/measured.js';
import { linePicture } from '../../../documents/pictures/linePicture.js';
import type { LineSpec } from '../../../documents/pictures/picture.js';
import type { Measure } from '../../../followup/measures.js';
import { type BelowAverageAt, belowAverageAt } from '../../../followup/reference.js';
import { roundBinaryError } from '../../../followup/units.js';
import { dateInWords } from '../../../text/dates.js';
import { shownValue } from '../../../text/measureChange.js';
import type { HttpResources } from '../../server/resources.js';

/** A scale with this few steps is shown in full. */
const shownWhole = 12;

/**
 * The values of a measure over days: the band of the smallest real change around the first one, and lines where a
 * consideration starts.
 *
 * @param possibleAges the patient's possible ages at the last value; empty if unknown
 * @returns the SVG, or null if there are fewer than two values
 */
export function measurePicture(
  { pages }: Pick<HttpResources, 'pages'>,
  { measure, standing }: Measured,
  possibleAges: readonly number[],
): string | null {
  const [first] = standing;
  const last = standing.at(-1);
  if (first === undefined || last === undefined || standing.length < 2) return null;
  const values = standing.map(({ takenOn, value }) => ({ day: takenOn, value }));
  const renderText = (name: string, view: object) => pages.part(name, view).trim();
  const error = errorAround(first.value, measure);
  const band = error === null ? {} : { band: { ...error, name: renderText('measure-band', {}) } };
  const references = [
    ...thresholdsOf(measure),
    ...cutOffsOf(measure, last.value, possibleAges).map(({ value, ...cutOff }) => ({
      value,
      name: renderText('measure-cut-off', cutOff),
    })),
  ];
  const about = {
    name: measure.name,
    count: standing.length,
    first: shownValue(first.value, measure),
    last: shownValue(last.value, measure),
    firstDay: dateInWords(first.takenOn),
    lastDay: dateInWords(last.takenOn),
    hasBand: error !== null,
    hasLines: references.length > 0,
  };
  const spec: LineSpec = {
    title: measure.name,
    description: renderText('measure-picture-about', about),
    series: [{ name: measure.name, values }],
    valueDomain: domainOf(measure, [
      ...values.map(({ value }) => value),
      ...(error === null ? [] : [error.from, error.to]),
      ...references.map(({ value }) => value),
    ]),
    ...band,
    // Visits are months apart.
    bridgedDays: Number.POSITIVE_INFINITY,
    references,
    nothing: '',
    size: 'large',
  };
  return linePicture(spec);
}

function errorAround(value: number, { realChange }: Measure): { from: number; to: number } | null {
  if (realChange.kind === 'not-published') return null;
  return {
    from: roundBinaryError(value - realChange.amount),
    to: roundBinaryError(value + realChange.amount),
  };
}

function thresholdsOf({ considerations }: Measure): { value: number; name: string }[] {
  return considerations.flatMap(({ when, line }) =>
    line !== undefined && (when.kind === 'at-least' || when.kind === 'above' || when.kind === 'at-most')
      ? [{ value: when.value, name: line }]
      : [],
  );
}

function cutOffsOf(
  { belowAverage }: Measure,
  value: number,
  possibleAges: readonly number[],
): { value: number; isMen: boolean; from: number; until: number }[] {
  if (belowAverage === undefined) return [];
  return belowAverageAt(belowAverage, value, possibleAges).flatMap(
    ({ from, until, men, women }: BelowAverageAt) => [
      { value: men.cutOff, isMen: true, from, until },
      { value: women.cutOff, isMen: false, from, until },
    ],
  );
}

function domainOf({ plausible }: Measure, values: readonly number[]): { from: number; to: number } {
  const { least, most } = plausible;
  if (most - least <= shownWhole) return { from: least, to: most };
  const [from, to] = [Math.min(...values), Math.max(...values)];
  const margin = to === from ? 1 : (to - from) / 10;
  return {
    from: Math.max(least, roundBinaryError(from - margin)),
    to: Math.min(most, roundBinaryError(to + margin)),
  };
}
