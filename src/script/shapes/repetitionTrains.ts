import type { PrescribedOf } from '../../program/prescribed.js';
import { type Context, onSide, wordsOf } from '../context.js';
import type { Train, Where, Words } from '../layout.js';
import { workSets } from '../repetitions.js';
import { positionBefore } from '../startingPosition.js';
import type { Side } from '../timedScript.js';
import { restBeforeMs, restWords, setLead, sideChanges } from './frame.js';

/** The parts that differ between the timing shapes that work in repetitions. */
export type RepetitionWork = Pick<Train, 'beats' | 'fillers' | 'lengthMs'> & {
  /** The command, where it comes before the first beat. */
  start: Words | null;
};

/**
 * Returns one train per repetition, with its "get ready" words, its rest and the reminders in that rest.
 *
 * @param workOf returns the beats of one repetition, in the context of its side
 */
export function repetitionTrains(
  prescribed: PrescribedOf<'hold'> | PrescribedOf<'tempo'>,
  context: Context,
  workOf: (sided: Context, where: Where) => RepetitionWork,
): Train[] {
  const { dose, exercise } = prescribed;
  let restNumber = 0;
  let previous: Side | null = null;
  return workSets(prescribed.side, dose.sets, dose.reps).flatMap((workSet, setIndex) =>
    workSet.repetitions.map(({ rep, side }, repIndex): Train => {
      const sided = onSide(context, side, null);
      const prepare = wordsOf(sided, exercise.wording.prepare, 'prepare', workSet.set, rep, side ?? '');
      const where: Where = {
        exercise: exercise.id,
        set: workSet.set,
        rep,
        ...(side === null ? {} : { side }),
      };
      const { start, ...work } = workOf(sided, where);
      const changes = sideChanges(prescribed, context, {
        previous,
        next: side,
        key: `${workSet.set}.${rep}`,
      });
      previous = side;
      const restMs = restBeforeMs(dose, setIndex, repIndex);
      const { leave, take } = positionBefore(prescribed, sided, {
        isFirst: setIndex === 0 && repIndex === 0,
        startsSet: repIndex === 0,
        restBeforeMs: restMs,
        key: `${setIndex}.${repIndex}`,
      });
      const rest = restWords(sided, exercise.wording.coaching, {
        setIndex,
        repIndex,
        restNumber: repIndex > 0 ? restNumber++ : restNumber,
      });
      const lead =
        repIndex === 0 ? setLead(context, workSet, prepare) : [{ role: 'prepare' as const, words: prepare }];
      return {
        item: 'train',
        ...work,
        lead: start === null ? lead : [...lead, { role: 'start', words: start }],
        restBeforeMs: restMs,
        restWords: leave.length > 0 ? null : rest,
        changes: [...leave, ...changes],
        position: take,
        where,
        resumeHere: true,
      };
    }),
  );
}
