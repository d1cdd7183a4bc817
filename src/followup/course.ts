import { addDays } from '../schedule/wallClock.js';
import type { Outcome } from './history.js';

/** One answer, on the day of its session; several of a day stay several. */
export type Point = { day: string; atMs: number; value: number };

export type Course = { painBefore: Point[]; painAfter: Point[]; effort: Point[] };

/** Pain from 0 to 10 before and after sessions, and effort from 0 to 10, in the order of answering. */
export function courseOf(outcomes: readonly Outcome[]): Course {
  const pointsOf = (key: keyof Course): Point[] =>
    outcomes
      .flatMap(({ day, checkIns }) =>
        checkIns.flatMap(({ atMs, answers }) => {
          const value = answers[key];
          return value == null ? [] : [{ day, atMs, value }];
        }),
      )
      .sort((a, b) => a.atMs - b.atMs || a.value - b.value);
  return {
    painBefore: pointsOf('painBefore'),
    painAfter: pointsOf('painAfter'),
    effort: pointsOf('effort'),
  };
}

/** Pain before sessions alone, in any order: of a year of sessions nothing else is looked at. */
export function painBeforeOf(outcomes: readonly Outcome[]): Point[] {
  return outcomes.flatMap(({ day, checkIns }) =>
    checkIns.flatMap(({ atMs, answers }) =>
      answers.painBefore == null ? [] : [{ day, atMs, value: answers.painBefore }],
    ),
  );
}

/** A week with fewer answers says nothing. Our choice; no source. */
const leastAnswers = 3;
const weekDays = 7;

/** The middle of some answers, and how many there were. */
export type Level = { median: number; answers: number };

/** Where pain stood in the week from the first answer on; null with fewer than three answers. */
export function baselineOf(points: readonly Point[]): Level | null {
  const end = firstWeekEnd(points);
  return end === null ? null : levelOf(points.filter(({ day }) => day < end));
}

/** The day after the week that begins with the first answer; null without one. */
function firstWeekEnd(points: readonly Point[]): string | null {
  let first = points[0]?.day;
  if (first === undefined) return null;
  for (const { day } of points) if (day < first) first = day;
  return addDays(first, weekDays);
}

/** Whether the week that ends with a day begins before the first week has ended: the two would share answers. */
export function isTooEarly(points: readonly Point[], day: string): boolean {
  const end = firstWeekEnd(points);
  return end !== null && addDays(day, 1 - weekDays) < end;
}

/** Where it stood in the week that ends with a day; null with fewer than three answers. */
export function levelAt(points: readonly Point[], day: string): Level | null {
  const before = addDays(day, -weekDays);
  return levelOf(points.filter((point) => point.day > before && point.day <= day));
}

function levelOf(points: readonly Point[]): Level | null {
  return points.length < leastAnswers
    ? null
    : { median: medianOf(points.map(({ value }) => value)), answers: points.length };
}

/** @param values at least one */
export function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle] ?? Number.NaN;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? upper) + upper) / 2;
}

/**
 * What makes a change of pain one that matters to people: about 2 points, or about 30 %, published as either (Farrar et
 * al. 2001, Pain 94:149). Those who begin high need the larger drop in points, so that both are asked for, which is our
 * choice. That was found for improvement; that pain has grown is said from 2 points on, whatever it was, which is the
 * careful side. Our choice.
 */
export const importantPain = { points: 2, share: 0.3 } as const;

/** Between its ends nothing has changed that matters; a change up to an end, or beyond it, matters. */
export type Band = { from: number; to: number };

/** The band around where pain began, within the scale from 0 to 10. */
export function unchangedBand({ median }: Level): Band {
  return {
    from: Math.max(0, median - neededDrop(median)),
    to: Math.min(10, median + importantPain.points),
  };
}

function neededDrop(median: number): number {
  return Math.max(importantPain.points, importantPain.share * median);
}

export type PainChange = {
  before: Level;
  now: Level;
  /** Less pain is negative. */
  points: number;
  /** Null where it began with no pain, of which there is no part. */
  percent: number | null;
  kind: 'less' | 'more' | 'within';
};

/**
 * How pain before sessions changed from the first week to the one that ends with a day; null with too few answers, and
 * as long as it is too early.
 */
export function painChange(painBefore: readonly Point[], day: string): PainChange | null {
  if (isTooEarly(painBefore, day)) return null;
  return changeOf(baselineOf(painBefore), levelAt(painBefore, day));
}

function changeOf(before: Level | null, now: Level | null): PainChange | null {
  if (before === null || now === null) return null;
  const points = now.median - before.median;
  const isLess = -points >= neededDrop(before.median);
  const kind = isLess ? 'less' : points >= importantPain.points ? 'more' : 'within';
  return {
    ...{ before, now, points, kind },
    percent: before.median === 0 ? null : (100 * points) / before.median,
  };
}

/** How pain before sessions stands on a day, or why nothing can be said of it yet. */
export type PainStanding =
  | ({ state: 'compared'; firstWeek: Week; lastWeek: Week } & PainChange)
  | { state: 'too-early' | 'too-few-answers' };

/** Seven days, both inclusive, `YYYY-MM-DD`. */
type Week = { from: string; until: string };

/**
 * How pain before sessions changed from the week that begins with the first answer to the week that ends with a day.
 * Pages, notes, advice and the overview of the clinic all ask here, with all of a person's answers: the same days give
 * the same words.
 */
export function painStandingOn(painBefore: readonly Point[], day: string): PainStanding {
  const known = painBefore.filter((point) => point.day <= day);
  if (isTooEarly(known, day)) return { state: 'too-early' };
  const end = firstWeekEnd(known);
  const change = painChange(known, day);
  if (change === null || end === null) return { state: 'too-few-answers' };
  return {
    state: 'compared',
    firstWeek: { from: addDays(end, -weekDays), until: addDays(end, -1) },
    lastWeek: { from: addDays(day, 1 - weekDays), until: day },
    ...change,
  };
}

/** What was heard of a session and what was said of it, where the two do not fit each other; newest first. */
export function contradictions(outcomes: readonly Outcome[]): Outcome[] {
  return outcomes.filter(({ isContradictory }) => isContradictory).reverse();
}
