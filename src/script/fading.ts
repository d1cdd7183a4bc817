import type { Program } from '../program/schema.js';

/** From this session on reminders are as few as they become. */
export const leastCoachedFrom = 15;

/**
 * Rule S15: share of the reminders that is spoken in a session. Feedback that fades helps what is learned to stay
 * (Winstein & Schmidt 1990, J Exp Psychol Learn Mem Cogn 16:677; Aoyagi 2019, J Phys Ther Sci 31:687), though
 * the finding is about results, not spoken coaching, and is mixed in older adults; the steps are our choice.
 * Safety and timing words never fade.
 */
export function coachingShare(coaching: Program['coaching'], sessionNumber: number): number {
  if (coaching === 'full') return 1;
  if (coaching === 'quiet') return 0;
  if (sessionNumber <= 3) return 1;
  if (sessionNumber <= 7) return 0.75;
  if (sessionNumber < leastCoachedFrom) return 0.5;
  return 1 / 3;
}

/** Whether occasion number `index` (from 0) is one of the share kept; kept ones are evenly spaced. */
export function isKept(index: number, share: number): boolean {
  return Math.floor((index + 1) * share + 1e-9) > Math.floor(index * share + 1e-9);
}
