import type { Wording } from '../../catalogue/wording.js';
import type { PrescribedOf } from '../../program/prescribed.js';
import { type Context, spell, wordsOf } from '../context.js';
import type { Beat, Block, Where } from '../layout.js';
import { frame } from './frame.js';
import { repetitionTrains } from './repetitionTrains.js';

type PartName = 'lift' | 'hold' | 'lower';

/**
 * Lays out a tempo exercise: slow repetitions with a count for each part, for example lift three, hold one, lower
 * three.
 */
export function layOutTempo(prescribed: PrescribedOf<'tempo'>, context: Context): Block {
  const { liftSeconds, holdSeconds, lowerSeconds } = prescribed.dose;
  const trains = repetitionTrains(prescribed, context, (sided, where) => ({
    start: null,
    beats: tempoBeats(prescribed, sided, where),
    fillers: [],
    lengthMs: (liftSeconds + holdSeconds + lowerSeconds) * 1000,
  }));
  return frame(prescribed, context, trains);
}

function tempoBeats(prescribed: PrescribedOf<'tempo'>, context: Context, where: Where): [Beat, ...Beat[]] {
  const { dose, exercise } = prescribed;
  const holdAt = dose.liftSeconds;
  const lowerAt = holdAt + dose.holdSeconds;
  const endAt = lowerAt + dose.lowerSeconds;
  const part = (role: PartName, atSeconds: number, seconds: number) =>
    partBeats(
      context,
      { role, atSeconds, seconds, wording: exercise.wording[role] },
      prescribed.index,
      where,
    );
  const [first, ...others] = part('lift', 0, dose.liftSeconds);
  const release: Beat = {
    atMs: endAt * 1000,
    alignBy: 'centre',
    kind: 'speech',
    role: 'release',
    words: wordsOf(context, exercise.wording.release, 'release'),
    where,
    roomPath: `exercises[${prescribed.index}].dose.lowerSeconds`,
    resumeHere: false,
  };
  return [
    first,
    ...others,
    ...(dose.holdSeconds > 0 ? part('hold', holdAt, dose.holdSeconds) : []),
    ...part('lower', lowerAt, dose.lowerSeconds),
    release,
  ];
}

/** Returns the beats of one part: its own word on the first second, then "two", "three" ... */
function partBeats(
  context: Context,
  part: { role: PartName; atSeconds: number; seconds: number; wording: Wording },
  index: number,
  where: Where,
): [Beat, ...Beat[]] {
  const common = {
    alignBy: 'centre' as const,
    where,
    roomPath: `exercises[${index}].dose.${part.role}Seconds`,
    resumeHere: false,
  };
  const first: Beat = {
    ...common,
    atMs: part.atSeconds * 1000,
    kind: 'speech',
    role: part.role,
    words: wordsOf(context, part.wording, part.role),
  };
  const counts = Array.from({ length: part.seconds - 1 }, (_, index): Beat => {
    const number = spell(context.phrases, index + 2);
    return {
      ...common,
      atMs: (part.atSeconds + index + 1) * 1000,
      kind: 'count',
      role: 'count',
      words: [number],
      count: { part: part.role, index: index + 1, number },
    };
  });
  return [first, ...counts];
}
