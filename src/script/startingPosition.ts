import type { PrescribedExercise } from '../program/prescribed.js';
import { sayLines } from './changes.js';
import { type Context, say } from './context.js';
import type { Say, Where } from './layout.js';
import { leavesPositionFromMs } from './rules.js';

/** The circumstances of a repetition: whether it is the very first, whether it starts a set, and the rest before it. */
export type Occasion = { isFirst: boolean; startsSet: boolean; restBeforeMs: number; key: string };

/** The lines that leave the starting position, and the lines that take it up. */
export type PositionWords = { leave: Say[]; take: Say[] };

/**
 * Rule S13: the starting position is taken up before the first repetition, and left and taken up again around a rest
 * that is long enough. Returns no lines for an exercise without such a position.
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
