import type { PlayedSession } from '../../listening/plan.js';
import { lastOf } from './lists.js';

/**
 * Rule PLAY-1: where listening goes on after a pause. A count that is broken off for long must not go on in its middle:
 * the listener let go in the meantime, and would be told "three, two, one" of nothing. After a short pause it goes on
 * where it stopped, also in a count, because whoever still holds is then told to let go at once; beginning the
 * repetition again would ask for the same effort twice. All times are milliseconds.
 */

/** From this pause on, the repetition is begun again. Our choice; no source. */
export const longPauseMs = 5_000;
/** Stepping back by less than this repeats nothing that could be noticed. */
const unnoticedMs = 1_500;
/** "Back" pressed later than this in an exercise begins that exercise again, and not the one before it. */
const restartsAfterMs = 3_000;

export type GoOn = { fromMs: number; say: 'go-on-before' | 'go-on-exercise' | null };

/** The last moment, at or before a position, from which listening can safely go on. */
export function safePointAt(resumePointsMs: readonly number[], positionMs: number): number {
  return resumePointsMs.reduce((last, point) => (point <= positionMs && point > last ? point : last), 0);
}

/** @param pausedForMs null when no one knows, as after a flat battery */
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

/** Which exercise is heard at a position; the first one when there is none yet. */
export function chapterAt(chapters: Chapters, positionMs: number): number {
  const next = chapters.findIndex(({ startMs }) => startMs > positionMs);
  return Math.max(0, (next === -1 ? chapters.length : next) - 1);
}

/** Which side is worked on at a position; null where its exercise has none. */
export function sideAt(
  { chapters, sides = [] }: Pick<PlayedSession, 'chapters' | 'sides'>,
  positionMs: number,
): 'left' | 'right' | null {
  const fromMs = chapters[chapterAt(chapters, positionMs)]?.startMs ?? 0;
  const begun = sides.filter(({ startMs }) => startMs >= fromMs && startMs <= positionMs);
  return lastOf(begun)?.side ?? null;
}

/** The beginning of the next exercise, or null in the last one. */
export function nextChapterMs(chapters: Chapters, positionMs: number): number | null {
  return chapters[chapterAt(chapters, positionMs) + 1]?.startMs ?? null;
}

/** The beginning of this exercise, or of the one before it when this one has hardly begun. */
export function previousChapterMs(chapters: Chapters, positionMs: number): number {
  const index = chapterAt(chapters, positionMs);
  const startMs = chapters[index]?.startMs ?? 0;
  if (positionMs - startMs > restartsAfterMs) return startMs;
  return chapters[index - 1]?.startMs ?? 0;
}
