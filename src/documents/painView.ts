import type { PainChange, PainStanding } from '../followup/course.js';
import { dayInWords } from './dayInWords.js';

/** How pain changed, in the pieces that pages and documents combine, so that all of them round the same way. */
export type PainView = {
  before: LevelView;
  now: LevelView;
  /** The absolute value; `isLower` gives the direction. */
  points: string;
  isOnePoint: boolean;
  percent: number | null;
  isSame: boolean;
  isLower: boolean;
  /** Whether pain decreased by a clinically important amount; `isMore` is the opposite. */
  isLess: boolean;
  isMore: boolean;
  isWithin: boolean;
};

export type LevelView = { median: string; answers: number; isOneAnswer: boolean };

/** Returns the view of a change in pain, with levels and points rounded to tenths. */
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

/** Returns the view of a change in pain with the days of both weeks, or the reason why there is none. */
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

/** Returns the view of a median and its number of answers. */
export function levelView({ median, answers }: { median: number; answers: number }): LevelView {
  return { median: toTenth(median), answers, isOneAnswer: answers === 1 };
}

/** Formats a value to one decimal, which is exact because medians of whole numbers are whole or a half. */
function toTenth(value: number): string {
  return String(Math.round(value * 10) / 10);
}
