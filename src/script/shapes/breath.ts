import type { PrescribedOf } from '../../program/prescribed.js';
import { type Context, onSide, wordsOf } from '../context.js';
import type { Beat, Block, Train, Where, Words } from '../layout.js';
import { type Repetition, type WorkSet, workSets } from '../repetitions.js';
import { positionBefore } from '../startingPosition.js';
import type { Side } from '../timedScript.js';
import { frame, movesBetweenSides, restBeforeMs, restWords, setLead, sideChanges } from './frame.js';

/**
 * Lays out a breath exercise: phases at the patient's own pace. A movement goes out on the out-breath and returns on
 * the next in-breath.
 */
export function layOutBreath(prescribed: PrescribedOf<'breath'>, context: Context): Block {
  const { dose, exercise } = prescribed;
  let previous: Side | null = null;
  const stretches = workSets(prescribed.side, dose.sets, dose.reps).flatMap((workSet, setIndex) =>
    stretchesOf(workSet, movesBetweenSides(prescribed, context)).map((stretch, index) => ({
      workSet: stretch,
      setIndex,
      isFirstOfSet: index === 0,
    })),
  );
  const trains = stretches.map(({ workSet, setIndex, isFirstOfSet }): Train => {
    const side = workSet.side ?? workSet.repetitions[0]?.side ?? null;
    const key = `${workSet.set}.${workSet.repetitions[0]?.rep ?? 0}`;
    const changes = sideChanges(prescribed, context, { previous, next: side, key });
    previous = side;
    const sided = onSide(context, side, null);
    const restMs = isFirstOfSet ? restBeforeMs({ ...dose, restSeconds: 0 }, setIndex, 0) : 0;
    const { leave, take } = positionBefore(prescribed, sided, {
      isFirst: setIndex === 0 && isFirstOfSet,
      startsSet: isFirstOfSet,
      restBeforeMs: restMs,
      key,
    });
    const prepare = wordsOf(sided, exercise.wording.prepare, 'prepare', workSet.set, workSet.side ?? '');
    const where: Where = { exercise: exercise.id, set: workSet.set };
    const beats = breathBeats(prescribed, context, workSet);
    const [first, ...others] = beats;
    if (first === undefined) throw new RangeError('a set has at least one breath');
    return {
      item: 'train',
      lead: setLead(context, workSet, prepare),
      beats: [first, ...others],
      fillers: [],
      lengthMs: others.at(-1)?.atMs ?? 0,
      restBeforeMs: restMs,
      restWords:
        isFirstOfSet && leave.length === 0
          ? restWords(sided, exercise.wording.coaching, { setIndex, repIndex: 0, restNumber: 0 })
          : null,
      changes: [...leave, ...changes],
      position: take,
      where: { ...where, ...(workSet.side === null ? {} : { side: workSet.side }) },
      resumeHere: true,
    };
  });
  return frame(prescribed, context, trains);
}

/**
 * Splits a set into the breaths that run without interruption: the whole set, or single breaths where something must be
 * moved before the other side's turn.
 */
function stretchesOf(workSet: WorkSet, movesBetween: boolean): WorkSet[] {
  const takesTurns = workSet.side === null && workSet.repetitions.some(({ side }) => side !== null);
  if (!movesBetween || !takesTurns) return [workSet];
  return workSet.repetitions.map((repetition) => ({ ...workSet, repetitions: [repetition] }));
}

function breathBeats(prescribed: PrescribedOf<'breath'>, context: Context, workSet: WorkSet): Beat[] {
  const pace = context.program.breath;
  const { wording } = prescribed.exercise;
  const cycleMs = toMs(
    pace.inSeconds + pace.pauseAfterInSeconds + pace.outSeconds + pace.pauseAfterOutSeconds,
  );
  let previous: Side | null = null;
  const cycles = workSet.repetitions.flatMap((repetition, index) => {
    const sided = onSide(context, repetition.side, previous);
    previous = repetition.side;
    const inWords =
      index === 0 ? wordsOf(sided, wording.firstIn, 'firstIn') : wordsOf(sided, wording.nextIn, 'nextIn');
    const outWords = wordsOf(sided, wording.out, 'out');
    return cycleBeats(prescribed, context, {
      workSet,
      repetition,
      fromMs: index * cycleMs,
      inWords,
      outWords,
    });
  });
  const last = workSet.repetitions.at(-1);
  const comeBack: Beat = {
    atMs: workSet.repetitions.length * cycleMs,
    alignBy: 'onset',
    kind: 'speech',
    role: 'release',
    words: wordsOf(onSide(context, last?.side ?? null, last?.side ?? null), wording.comeBack, 'comeBack'),
    where: whereOf(prescribed, workSet, last),
    roomPath: 'breath.outSeconds',
    resumeHere: false,
  };
  return [...cycles, comeBack];
}

function cycleBeats(
  prescribed: PrescribedOf<'breath'>,
  context: Context,
  cycle: { workSet: WorkSet; repetition: Repetition; fromMs: number; inWords: Words; outWords: Words },
): Beat[] {
  const { inSeconds, pauseAfterInSeconds, outSeconds, pauseAfterOutSeconds } = context.program.breath;
  const where = whereOf(prescribed, cycle.workSet, cycle.repetition);
  const common = { alignBy: 'onset' as const, kind: 'breath' as const, where, resumeHere: false };
  const inEndMs = cycle.fromMs + toMs(inSeconds);
  const outAtMs = inEndMs + toMs(pauseAfterInSeconds);
  const outEndMs = outAtMs + toMs(outSeconds);
  const silent = { ...common, words: null };
  const pauseIn: Beat = {
    ...silent,
    atMs: inEndMs,
    role: 'pause-after-in',
    phaseMs: toMs(pauseAfterInSeconds),
    roomPath: 'breath.pauseAfterInSeconds',
  };
  const pauseOut: Beat = {
    ...silent,
    atMs: outEndMs,
    role: 'pause-after-out',
    phaseMs: toMs(pauseAfterOutSeconds),
    roomPath: 'breath.pauseAfterOutSeconds',
  };
  return [
    {
      ...common,
      atMs: cycle.fromMs,
      role: 'in',
      words: cycle.inWords,
      phaseMs: toMs(inSeconds),
      tone: 'in',
      roomPath: 'breath.inSeconds',
      resumeHere: true,
    },
    ...(pauseAfterInSeconds > 0 ? [pauseIn] : []),
    {
      ...common,
      atMs: outAtMs,
      role: 'out',
      words: cycle.outWords,
      phaseMs: toMs(outSeconds),
      tone: 'out',
      roomPath: 'breath.outSeconds',
    },
    ...(pauseAfterOutSeconds > 0 ? [pauseOut] : []),
  ];
}

function whereOf(
  prescribed: PrescribedOf<'breath'>,
  workSet: WorkSet,
  repetition: Repetition | undefined,
): Where {
  return {
    exercise: prescribed.exercise.id,
    set: workSet.set,
    ...(repetition === undefined ? {} : { rep: repetition.rep }),
    ...(repetition?.side == null ? {} : { side: repetition.side }),
  };
}

function toMs(seconds: number): number {
  return Math.round(seconds * 1000);
}
