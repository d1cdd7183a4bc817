import type { Program } from '../program/schema.js';

/** The first session with the fewest reminders; the share does not fall any further. */
export const leastCoachedFrom = 15;

/**
 * Rule S15: returns the share of reminders spoken in a session, 0 to 1. Fading feedback helps learners retain a skill
 * (Winstein & Schmidt 1990, J Exp Psychol Learn Mem Cogn 16:677; Aoyagi 2019, J Phys Ther Sci 31:687), though the
 * finding is about results, not spoken coaching, and is mixed in older adults; the steps are our choice. Safety and
 * timing words never fade.
 */
export function coachingShare(coaching: Program['coaching'], sessionNumber: number): number {
  if (coaching === 'full') return 1;
  if (coaching === 'quiet') return 0;
  if (sessionNumber <= 3) return 1;
  if (sessionNumber <= 7) return 0.75;
  if (sessionNumber < leastCoachedFrom) return 0.5;
  return 1 / 3;
}

/** Returns whether occasion number `index` (from 0) is in the spoken share; spoken ones are evenly spaced. */
export function isKept(index: number, share: number): boolean {
  return Math.floor((index + 1) * share + 1e-9) > Math.floor(index * share + 1e-9);
}
