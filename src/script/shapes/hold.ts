import type { PrescribedOf } from '../../program/prescribed.js';
import type { Counting } from '../../program/schema.js';
import { type Context, spell, wordsOf } from '../context.js';
import type { Beat, Block, Filler, Where, Words } from '../layout.js';
import { frame } from './frame.js';
import { repetitionTrains } from './repetitionTrains.js';

/** A hold needs at least this long without counts before it gets a reminder to breathe. */
const quietHoldSeconds = 5;
const lastCounts = 5;

/** Lays out a hold exercise: sets of prepare, press, counted seconds, release, rest. */
export function layOutHold(prescribed: PrescribedOf<'hold'>, context: Context): Block {
  const { holdSeconds } = prescribed.dose;
  const counted = countedSeconds(holdSeconds, context.program.counting);
  const trains = repetitionTrains(prescribed, context, (sided, where) => {
    const start = wordsOf(sided, prescribed.exercise.wording.start, 'start');
    return {
      start: counted.includes(0) ? start : null,
      beats: holdBeats(prescribed, sided, { start, counted, where }),
      fillers: holdFillers(context, holdSeconds, counted, where),
      lengthMs: holdSeconds * 1000,
    };
  });
  return frame(prescribed, context, trains);
}

/** Returns the seconds of a hold that have a spoken number, counted from 0. */
function countedSeconds(holdSeconds: number, counting: Counting): number[] {
  const all = Array.from({ length: holdSeconds }, (_, second) => second);
  if (counting.which === 'all') return all;
  return counting.which === 'none' ? [] : all.slice(-lastCounts);
}

/**
 * Rule S2: a hold of n seconds is n x 1000 ms from its start to its release, its counts whole seconds from the start.
 */
function holdBeats(
  prescribed: PrescribedOf<'hold'>,
  context: Context,
  parts: { start: Words; counted: readonly number[]; where: Where },
): [Beat, ...Beat[]] {
  const { holdSeconds } = prescribed.dose;
  const common = {
    alignBy: 'centre' as const,
    where: parts.where,
    roomPath: `exercises[${prescribed.index}].dose.holdSeconds`,
    resumeHere: false,
  };
  const counts = parts.counted.map((second, index): Beat => {
    const number = spell(
      context.phrases,
      context.program.counting.direction === 'down' ? holdSeconds - second : second + 1,
    );
    return {
      ...common,
      atMs: second * 1000,
      kind: 'count',
      role: 'count',
      words: [number],
      count: { part: 'hold', index, number },
    };
  });
  const release: Beat = {
    ...common,
    atMs: holdSeconds * 1000,
    kind: 'speech',
    role: 'release',
    words: wordsOf(context, prescribed.exercise.wording.release, 'release'),
  };
  const start: Beat = {
    ...common,
    atMs: 0,
    kind: 'speech',
    role: 'start',
    words: parts.start,
  };
  return parts.counted.includes(0) ? toBeats([...counts, release]) : toBeats([start, ...counts, release]);
}

function toBeats(beats: Beat[]): [Beat, ...Beat[]] {
  const [first, ...rest] = beats;
  if (first === undefined) throw new RangeError('a train has at least one beat');
  return [first, ...rest];
}

/** Returns, for a hold that is not counted from its start, a reminder to keep breathing, never to hold the breath. */
function holdFillers(
  context: Context,
  holdSeconds: number,
  counted: readonly number[],
  where: Where,
): Filler[] {
  const quietSeconds = counted[0] ?? holdSeconds;
  if (quietSeconds < quietHoldSeconds) return [];
  const words = wordsOf(context, context.phrases.keepBreathing, 'keepBreathing', where.rep ?? 0);
  return [
    { atMs: 2_000, slackMs: (quietSeconds - 2) * 1000, role: 'coaching', words, where, resumeHere: false },
  ];
}
