import type { PlayedSession } from '../../listening/plan.js';
import { lastOf } from './lists.js';

/**
 * Rule PLAY-1: where listening resumes after a pause. A count that was interrupted for long must not continue in its
 * middle, because the listener has let go in the meantime and would hear "three, two, one" for nothing. After a short
 * pause it resumes where it stopped, even in a count, because a listener who still holds then hears the release at
 * once; starting the repetition again would ask for the same effort twice. All times are in milliseconds.
 */

/** After a pause this long, the repetition starts again. Our choice; no source. */
export const longPauseMs = 5_000;
/** Stepping back by less than this repeats nothing noticeable. */
const unnoticedMs = 1_500;
/** Pressing "Back" later than this in an exercise restarts that exercise instead of going to the one before it. */
const restartsAfterMs = 3_000;

export type GoOn = { fromMs: number; say: 'go-on-before' | 'go-on-exercise' | null };

/** Returns the last point at or before a position from which listening can safely resume. */
export function safePointAt(resumePointsMs: readonly number[], positionMs: number): number {
  return resumePointsMs.reduce((last, point) => (point <= positionMs && point > last ? point : last), 0);
}

/**
 * Decides where to resume, and whether to say so.
 *
 * @param pausedForMs null when unknown, for example after the battery died
 */
export function planResume(
  pausedForMs: number | null,
  { resumePointsMs, positionMs }: { resumePointsMs: readonly number[]; positionMs: number },
): GoOn {
  if (pausedForMs !== null && pausedForMs <= longPauseMs) return { fromMs: positionMs, say: null };
  const fromMs = safePointAt(resumePointsMs, positionMs);
  const say = positionMs - fromMs > unnoticedMs ? 'go-on-before' : 'go-on-exercise';
  return { fromMs, say };
}

type Chapters = PlayedSession['chapters'];

/** Returns the index of the exercise at a position; the first one before any has started. */
export function chapterAt(chapters: Chapters, positionMs: number): number {
  const next = chapters.findIndex(({ startMs }) => startMs > positionMs);
  return Math.max(0, (next === -1 ? chapters.length : next) - 1);
}

/** Returns the working side at a position, or null where the exercise has none. */
export function sideAt(
  { chapters, sides = [] }: Pick<PlayedSession, 'chapters' | 'sides'>,
  positionMs: number,
): 'left' | 'right' | null {
  const fromMs = chapters[chapterAt(chapters, positionMs)]?.startMs ?? 0;
  const begun = sides.filter(({ startMs }) => startMs >= fromMs && startMs <= positionMs);
  return lastOf(begun)?.side ?? null;
}

/** Returns the start of the next exercise, or null in the last one. */
export function nextChapterMs(chapters: Chapters, positionMs: number): number | null {
  return chapters[chapterAt(chapters, positionMs) + 1]?.startMs ?? null;
}

/** Returns the start of this exercise, or of the one before it when this one has barely started. */
export function previousChapterMs(chapters: Chapters, positionMs: number): number {
  const index = chapterAt(chapters, positionMs);
  const startMs = chapters[index]?.startMs ?? 0;
  if (positionMs - startMs > restartsAfterMs) return startMs;
  return chapters[index - 1]?.startMs ?? 0;
}
