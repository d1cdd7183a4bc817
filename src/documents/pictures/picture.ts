import type { OutcomeKind } from '../../followup/history.js';

/**
 * The specifications of the follow-up pictures. Each becomes one self-contained SVG in the color of the surrounding
 * text, so that it is readable in light mode, in dark mode and in print; series differ by dashes and markers, never by
 * hue. All words come from the caller's templates, and the page provides a table of the same numbers.
 */
type DayValue = {
  /** `YYYY-MM-DD`. */
  day: string;
  value: number;
};

/** One line of a picture. Values can be in any order; two values on one day are both drawn. */
type Series = { name: string; values: readonly DayValue[] };

/** The text alternative of every picture. */
type Said = {
  /** A short title, such as the name of the measure. */
  title: string;
  /** A description of the picture in a sentence or two. */
  description: string;
};

export type LineSpec = Said & {
  /** One or two lines. */
  series: readonly [Series] | readonly [Series, Series];
  /**
   * The minimum and maximum of the scale, in the unit of the values; a value beyond is drawn as an arrowhead on the
   * edge.
   */
  valueDomain: { from: number; to: number };
  /** The first and the last day of the scale; defaults to the range of the values and marks. */
  dayDomain?: { from: string; to: string };
  /** A shaded range of values, both ends inclusive. */
  band?: { from: number; to: number; name: string };
  /** How many days without a value a line bridges; 14 unless the measure is taken less often. */
  bridgedDays?: number;
  /** Horizontal reference lines, such as a threshold. */
  references?: readonly { value: number; name: string }[];
  /** Vertical marks, such as a new version or a warning sign. */
  marks?: readonly { day: string; name: string }[];
  /** The text in the middle when there is nothing to draw. */
  nothing: string;
  /** `small` has no labels, for a picture within a row of text. */
  size: 'large' | 'small';
};

export type StripSpec = Said & {
  /** Each day with its outcomes, oldest first; a day without outcomes is left blank. */
  days: readonly { day: string; outcomes: readonly OutcomeKind[] }[];
  /** The name of each outcome in the legend. */
  names: Readonly<Record<OutcomeKind, string>>;
  /** The text instead of the strip when there are no days. */
  nothing: string;
};
