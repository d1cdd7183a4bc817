import type { OutcomeKind } from '../../followup/history.js';

/**
 * What the pictures of the follow-up are drawn from. Each becomes one self-contained SVG whose color is that of the
 * text around it, so that it reads by day, by night and in print; series differ by dashes and markers, never by hue.
 * Every word comes from the caller's templates, and the table of the same numbers is the page's to give.
 */
type DayValue = {
  /** `YYYY-MM-DD`. */
  day: string;
  value: number;
};

/** One line of a picture, its values in any order; two values of one day are both drawn. */
type Series = { name: string; values: readonly DayValue[] };

/** What every picture says of itself to those who cannot see it. */
type Said = {
  /** Short, such as the name of the measure. */
  title: string;
  /** What there is to be seen, in a sentence or two. */
  description: string;
};

export type LineSpec = Said & {
  /** One or two lines. */
  series: readonly [Series] | readonly [Series, Series];
  /**
   * The least and the most of the scale, in the unit of the values; a value beyond stands on the edge as an arrowhead.
   */
  valueDomain: { from: number; to: number };
  /** The first and the last day of the scale; without it, as far as the values and marks reach. */
  dayDomain?: { from: string; to: string };
  /** A shaded stretch of values, both ends inside. */
  band?: { from: number; to: number; name: string };
  /** How many days without a value a line still bridges; 14 unless something is measured more rarely. */
  bridgedDays?: number;
  /** Level lines, such as a threshold. */
  references?: readonly { value: number; name: string }[];
  /** Upright lines, such as a new version or a warning sign. */
  marks?: readonly { day: string; name: string }[];
  /** Stands in the middle when there is nothing to draw. */
  nothing: string;
  /** `small` has no names in it, for a picture within a row of text. */
  size: 'large' | 'small';
};

export type StripSpec = Said & {
  /** Each day with its outcomes, oldest first; a day without any stays an empty place. */
  days: readonly { day: string; outcomes: readonly OutcomeKind[] }[];
  /** What each outcome is called below the strip. */
  names: Readonly<Record<OutcomeKind, string>>;
  /** Stands in place of the strip when there are no days. */
  nothing: string;
};
