import type { AdviceKind, Advised, ExerciseAdvice, ProgramAdvice } from './adviceParts.js';

/** One item of advice for a clinician: about an exercise, or about the whole program if `exerciseIndex` is null. */
export type PendingAdvice = { exerciseIndex: number | null; advice: Advised };

/** Whether advice on an exercise is an item of its own. */
export function isPendingAlone({ kind, why }: ExerciseAdvice): boolean {
  return kind !== 'stay' && why !== 'program';
}

/** Whether a program needs a review as a whole, and not because of one of its exercises. */
export function isReviewedWhole({ whole, exercises }: ProgramAdvice): boolean {
  return whole.kind === 'review' && !exercises.some(({ why }) => why === whole.why);
}

/** The items of advice for one program. */
export function listPendingAdvice(program: ProgramAdvice): PendingAdvice[] {
  const exercises = program.exercises
    .filter(isPendingAlone)
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
export function findGravestPendingAdvice(
  programs: readonly ProgramAdvice[],
  isAnswered: (program: ProgramAdvice, pending: PendingAdvice) => boolean,
): WaitingKind | null {
  const open = programs.flatMap((program) =>
    listPendingAdvice(program).filter(
      (pending) => !toldOtherwise.some((why) => why === pending.advice.why) && !isAnswered(program, pending),
    ),
  );
  return waitingKinds.find((kind) => open.some(({ advice }) => advice.kind === kind)) ?? null;
}
