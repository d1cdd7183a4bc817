import { addDays } from '../schedule/wallClock.js';
import type { Outcome } from './history.js';

/** One answer, on the day of its session; several on one day are kept separate. */
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

/** Only pain before sessions, in any order: in a year of sessions nothing else is needed. */
export function painBeforeOf(outcomes: readonly Outcome[]): Point[] {
  return outcomes.flatMap(({ day, checkIns }) =>
    checkIns.flatMap(({ atMs, answers }) =>
      answers.painBefore == null ? [] : [{ day, atMs, value: answers.painBefore }],
    ),
  );
}

/** A week with fewer answers is not used. Our choice; no source. */
const leastAnswers = 3;
const weekDays = 7;

/** The median of some answers, and their number. */
export type Level = { median: number; answers: number };

/** Pain in the week that starts with the first answer; null with fewer than three answers. */
export function baselineOf(points: readonly Point[]): Level | null {
  const end = firstWeekEnd(points);
  return end === null ? null : levelOf(points.filter(({ day }) => day < end));
}

/** The day after the week that starts with the first answer; null without one. */
function firstWeekEnd(points: readonly Point[]): string | null {
  let first = points[0]?.day;
  if (first === undefined) return null;
  for (const { day } of points) if (day < first) first = day;
  return addDays(first, weekDays);
}

/** Whether the week ending on a day starts before the first week has ended: the two would share answers. */
export function isTooEarly(points: readonly Point[], day: string): boolean {
  const end = firstWeekEnd(points);
  return end !== null && addDays(day, 1 - weekDays) < end;
}

/** Pain in the week ending on a day; null with fewer than three answers. */
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
 * What makes a change in pain meaningful: about 2 points, or about 30%, published as either (Farrar et al. 2001, Pain
 * 94:149). People with high initial pain need the larger drop in points, so both are required, which is our choice.
 * That was found for improvement; an increase is called meaningful from 2 points on, whatever the initial level, to be
 * careful. Our choice.
 */
export const importantPain = { points: 2, share: 0.3 } as const;

/** Between its ends no change is meaningful; a change that reaches an end, or goes beyond it, is. */
export type Band = { from: number; to: number };

/** The band around the initial pain, within the scale from 0 to 10. */
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
  /** A decrease in pain is negative. */
  points: number;
  /** Null if initial pain was 0, which has no percentage. */
  percent: number | null;
  kind: 'less' | 'more' | 'within';
};

/**
 * The change in pain before sessions from the first week to the one ending on a day; null with too few answers, and
 * while it is too early.
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

/** Pain before sessions as of a day, or why nothing can be said yet. */
export type PainStanding =
  | ({ state: 'compared'; firstWeek: Week; lastWeek: Week } & PainChange)
  | { state: 'too-early' | 'too-few-answers' };

/** Seven days, both inclusive, `YYYY-MM-DD`. */
type Week = { from: string; until: string };

/**
 * The change in pain before sessions from the week that starts with the first answer to the week ending on a day.
 * Pages, notes, advice and the clinic overview all use this, with all of a patient's answers, so that the same days
 * give the same wording.
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

/** Sessions where what was heard and what was reported do not match, newest first. */
export function contradictions(outcomes: readonly Outcome[]): Outcome[] {
  return outcomes.filter(({ isContradictory }) => isContradictory).reverse();
}
