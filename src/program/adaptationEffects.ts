import type { SetUp } from '../catalogue/setUp.js';
import { tagsOfExercise } from '../catalogue/spokenTags.js';
import type { AppliedAdaptation, PrescribedExercise, PrescribedProgram } from './prescribed.js';
import { isSpokenBefore } from './spokenAdaptations.js';

/** A dose above a ceiling. */
type DoseEffect = {
  key: string;
  /** The adaptation's ceiling, */
  ceiling: number;
  /** the clinician's value, */
  from: number;
  /** and the resulting value: above the ceiling only where the exercise's limits allow no less. */
  to: number;
};

/** A set-up that an adaptation changes. */
type SetUpEffect = {
  key: keyof SetUp;
  asked: string;
  from: string;
  /**
   * More protective than `asked` where another adaptation asks for more; equal to `from` where the exercise does not
   * allow the change.
   */
  to: string;
};

/** The changes that one adaptation makes in one exercise. */
export type AdaptationEffect = {
  ruleId: string;
  precaution: string;
  doses: readonly DoseEffect[];
  setUps: readonly SetUpEffect[];
  /** The sentence spoken in the session because of it; null for none. */
  said: string | null;
  /** Whether it is spoken just before the exercise; otherwise it is spoken before another one, or in the opening. */
  isSaidBefore: boolean;
  /** Tags of lines of this exercise that are left out. */
  leftOut: readonly string[];
  /** The line of the handout. */
  print: string;
};

/** Returns the changes of each adaptation that applies to an exercise. */
export function effectsOf(prescribed: PrescribedExercise): AdaptationEffect[] {
  return prescribed.adaptations.map((applied) => {
    const { ruleId, precaution, adaptation, said } = applied;
    return {
      ruleId,
      precaution,
      doses: doseEffects(prescribed, adaptation),
      setUps: setUpEffects(prescribed, adaptation),
      said,
      isSaidBefore: isSpokenBefore(applied, prescribed.adaptations),
      leftOut: adaptation.leaveOut.filter((tag) => tagsOfExercise(prescribed.exercise).includes(tag)),
      print: adaptation.print,
    };
  });
}

/** A ceiling that an exercise's dose cannot be reduced to. */
export type UnmetCeiling = Pick<DoseEffect, 'key' | 'ceiling'> & {
  exerciseIndex: number;
  precaution: string;
  least: number;
};

/** Rule DOSE-3: returns the ceilings below the limits of their exercises, which therefore cannot be done as settled. */
export function unmetCeilings({ exercises }: PrescribedProgram): UnmetCeiling[] {
  return exercises.flatMap((prescribed) =>
    effectsOf(prescribed).flatMap(({ precaution, doses }) =>
      doses
        .filter(({ to, ceiling }) => to > ceiling)
        .map(({ key, ceiling, to }) => ({
          ...{ key, ceiling, precaution },
          exerciseIndex: prescribed.index,
          least: to,
        })),
    ),
  );
}

/** A knee position that an exercise does not allow. */
export type UnmetKnees = { exerciseIndex: number; precaution: string; requested: SetUp['knees'] };

/**
 * Returns the exercises with both legs straight under an adaptation that asks for bent knees; they cannot be done as
 * settled.
 */
export function unmetKnees({ exercises }: PrescribedProgram): UnmetKnees[] {
  return exercises.flatMap(({ index, exercise, adaptations }) => {
    const legs = exercise.path.from.legs ?? [];
    if (legs.length === 0 || legs.some((each) => each !== 'straight')) return [];
    return adaptations.flatMap(({ precaution, adaptation }) => {
      const requested = adaptation.setUp?.knees;
      if (requested === undefined || requested === 'straight') return [];
      return [{ exerciseIndex: index, precaution, requested }];
    });
  });
}

function doseEffects(
  { dose, asPrescribed }: PrescribedExercise,
  { atMost }: AppliedAdaptation['adaptation'],
): DoseEffect[] {
  const [written, done]: Readonly<Record<string, number>>[] = [asPrescribed.dose, dose];
  return Object.entries(atMost ?? {}).flatMap(([key, ceiling]) => {
    const [from, to] = [written?.[key], done?.[key]];
    if (ceiling === undefined || from === undefined || to === undefined || from <= ceiling) return [];
    return [{ key, ceiling, from, to }];
  });
}

const setUpKeys = ['surface', 'headSupport', 'knees'] as const;

function setUpEffects(
  { setUp, asPrescribed }: PrescribedExercise,
  { setUp: wanted }: AppliedAdaptation['adaptation'],
): SetUpEffect[] {
  return setUpKeys.flatMap((key): SetUpEffect[] => {
    const [asked, from, to] = [wanted?.[key], asPrescribed.setUp[key], setUp[key]];
    return asked === undefined || asked === from ? [] : [{ key, asked, from, to }];
  });
}
