import type { AdviceKind, Advised, ExerciseAdvice, ProgramAdvice } from './adviceParts.js';

/** One item of advice for a clinician: about an exercise, or about the whole program if `exerciseIndex` is null. */
export type Asked = { exerciseIndex: number | null; advice: Advised };

/** Whether advice on an exercise is an item of its own. */
export function isAskedAlone({ kind, why }: ExerciseAdvice): boolean {
  return kind !== 'stay' && why !== 'program';
}

/** Whether a program needs a review as a whole, and not because of one of its exercises. */
export function isReviewedWhole({ whole, exercises }: ProgramAdvice): boolean {
  return whole.kind === 'review' && !exercises.some(({ why }) => why === whole.why);
}

/** The items of advice for one program. */
export function askedOf(program: ProgramAdvice): Asked[] {
  const exercises = program.exercises
    .filter(isAskedAlone)
    .map((advice) => ({ exerciseIndex: advice.exerciseIndex, advice }));
  return isReviewedWhole(program)
    ? [{ exerciseIndex: null, advice: program.whole }, ...exercises]
    : exercises;
}

/** Items that the home page already lists under their own names. */
const toldOtherwise = ['sign-open', 'gone-quiet'] as const;

const waitingKinds = ['review', 'step-down', 'step-up'] as const satisfies readonly AdviceKind[];
export type WaitingKind = (typeof waitingKinds)[number];

/**
 * The most serious unanswered advice in all of a patient's programs; null if none is waiting.
 *
 * @param isAnswered whether a clinician has answered this advice in its current form
 */
export function waitingAdvice(
  programs: readonly ProgramAdvice[],
  isAnswered: (program: ProgramAdvice, asked: Asked) => boolean,
): WaitingKind | null {
  const open = programs.flatMap((program) =>
    askedOf(program).filter(
      (asked) => !toldOtherwise.some((why) => why === asked.advice.why) && !isAnswered(program, asked),
    ),
  );
  return waitingKinds.find((kind) => open.some(({ advice }) => advice.kind === kind)) ?? null;
}
