import type { PainChange, PainStanding } from '../followup/course.js';
import { dayInWords } from './dayInWords.js';

/** How pain changed, in the pieces that pages and papers put together: one rounding for all of them. */
export type PainView = {
  before: LevelView;
  now: LevelView;
  /** Without a sign; `isLower` tells the way. */
  points: string;
  isOnePoint: boolean;
  percent: number | null;
  isSame: boolean;
  isLower: boolean;
  /** A change that matters, either way. */
  isLess: boolean;
  isMore: boolean;
  isWithin: boolean;
};

export type LevelView = { median: string; answers: number; isOneAnswer: boolean };

export function painView({ before, now, points, percent, kind }: PainChange): PainView {
  return {
    before: levelView(before),
    now: levelView(now),
    points: toTenth(Math.abs(points)),
    isOnePoint: Math.abs(points) === 1,
    percent: percent === null ? null : Math.round(Math.abs(percent)),
    isSame: points === 0,
    isLower: points < 0,
    isLess: kind === 'less',
    isMore: kind === 'more',
    isWithin: kind === 'within',
  };
}

/** The same with the days of both weeks, or why nothing can be said. */
export function painStandingView(standing: PainStanding): object {
  if (standing.state !== 'compared') {
    return { painChange: null, isTooEarly: standing.state === 'too-early' };
  }
  const { firstWeek, lastWeek } = standing;
  const days = (week: typeof firstWeek) => ({ from: dayInWords(week.from), until: dayInWords(week.until) });
  return {
    painChange: { ...painView(standing), firstWeek: days(firstWeek), lastWeek: days(lastWeek) },
    isTooEarly: false,
  };
}

export function levelView({ median, answers }: { median: number; answers: number }): LevelView {
  return { median: toTenth(median), answers, isOneAnswer: answers === 1 };
}

/** Medians of whole numbers are whole, or a half. */
function toTenth(value: number): string {
  return String(Math.round(value * 10) / 10);
}
