import type { SetUp } from '../catalogue/setUp.js';
import { speak } from '../catalogue/template.js';
import type { ReadPrescription } from '../prescription/content.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import { exerciseContext } from '../script/context.js';
import { listSettledLines, mergeSettledLines } from './settledFor.js';

/**
 * Returns the view of one exercise for the document templates, written for the patient.
 *
 * @param saidBefore rules whose line is printed above all exercises
 */
export function exerciseView(
  { program, settlements }: Pick<ReadPrescription, 'program' | 'settlements'>,
  prescribed: PrescribedExercise,
  saidBefore: ReadonlySet<string>,
): object {
  const { exercise, note, index } = prescribed;
  const own = listSettledLines({ settlements }, exercise.id).filter(({ ruleId }) => !saidBefore.has(ruleId));
  const settled = mergeSettledLines(own);
  return {
    number: index + 1,
    name: exercise.name,
    purpose: exercise.purpose,
    ...doseView(prescribed),
    ...setUpView(prescribed.setUp),
    equipment: exercise.equipment.join('; '),
    how: steps(exercise.how),
    avoid: steps(exercise.avoid),
    settled,
    hasSettled: settled.length > 0,
    note: note === null ? null : speak(note, exerciseContext(program, false, prescribed, null).view),
  };
}

/** Wraps texts for a template's list of steps. */
export function steps(texts: readonly string[]): { step: string }[] {
  return texts.map((step) => ({ step }));
}

/** Returns the dose for `dose.mustache`; parts that an exercise does not have are null. */
function doseView({ timing, dose, side }: PrescribedExercise): object {
  const numbers: Readonly<Record<string, number | undefined>> = { ...dose };
  const { reps, sets = 1 } = numbers;
  const time = (key: string) => timeView(numbers[key] ?? 0);
  return {
    isTalk: timing === 'talk',
    isBreaths: timing === 'breath',
    reps: reps ?? null,
    isOneRep: reps === 1,
    sets: sets > 1 ? sets : null,
    durationSeconds: time('durationSeconds'),
    liftSeconds: time('liftSeconds'),
    holdSeconds: time('holdSeconds'),
    lowerSeconds: time('lowerSeconds'),
    restSeconds: (reps ?? 0) > 1 ? time('restSeconds') : null,
    setRestSeconds: sets > 1 ? time('setRestSeconds') : null,
    isEachSide: side === 'both' || side === 'alternate',
    isOneSide: side === 'left' || side === 'right',
    oneSide: side,
  };
}

/** Splits seconds into minutes and seconds for a template; null for 0. */
function timeView(all: number): object | null {
  if (all === 0) return null;
  const minutes = Math.floor(all / 60);
  const seconds = all - minutes * 60;
  return {
    minutes: minutes === 0 ? null : minutes,
    seconds: seconds === 0 ? null : seconds,
    isBoth: minutes > 0 && seconds > 0,
    isOneMinute: minutes === 1,
    isOneSecond: seconds === 1,
  };
}

/** Returns the set-up for `set-up.mustache`. */
export function setUpView({ surface, headSupport, knees }: SetUp): object {
  return {
    isBed: surface === 'bed',
    isFirmBed: surface === 'firm-bed',
    isHeadFlat: headSupport === 'none',
    isHeadOnTowel: headSupport === 'folded-towel',
    isHeadOnThinPillow: headSupport === 'thin-pillow',
    isHeadOnPillow: headSupport === 'pillow',
    isHeadRaised: headSupport === 'raised-head-end',
    areKneesStraight: knees === 'straight',
    areKneesBent: knees === 'bent',
    areKneesOverPillow: knees === 'over-pillow',
  };
}
