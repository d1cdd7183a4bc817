import type { PrescribedExercise } from '../program/prescribed.js';
import { sayLines } from './changes.js';
import { type Context, say } from './context.js';
import type { Say, Where } from './layout.js';
import { leavesPositionFromMs } from './rules.js';

/** What comes before a repetition: whether it is the first of all, whether it starts a set, and the rest before it. */
export type Occasion = { isFirst: boolean; startsSet: boolean; restBeforeMs: number; key: string };

/** Words that leave the starting position, and words that take it up. */
export type PositionWords = { leave: Say[]; take: Say[] };

/**
 * Rule S13: around a repetition, the starting position is taken up before the first one, and left and taken up again
 * for a rest that is worth it. Nothing for an exercise that has no such position.
 */
export function positionBefore(
  { exercise }: PrescribedExercise,
  context: Context,
  { isFirst, startsSet, restBeforeMs, key }: Occasion,
): PositionWords {
  const { startingPosition, leavePosition } = exercise.wording;
  const isLeft = !isFirst && (startsSet || restBeforeMs >= leavesPositionFromMs);
  if (startingPosition.length === 0 || (!isFirst && !isLeft)) return { leave: [], take: [] };
  const where: Where = { exercise: exercise.id };
  const take = sayLines(context, 'change', startingPosition, {
    key: `position${key}`,
    where,
    resumeHere: true,
    mayShorten: true,
  });
  if (!isLeft || leavePosition === undefined) return { leave: [], take };
  return { leave: say(context, 'rest', leavePosition, { key: `leave${key}`, where }), take };
}
