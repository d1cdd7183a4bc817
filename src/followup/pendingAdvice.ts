import type { AdviceKind, Advised, ExerciseAdvice, ProgramAdvice } from './adviceParts.js';

/** One thing that a clinician is asked about: an exercise, or the program as a whole where `exerciseIndex` is null. */
export type PendingAdvice = { exerciseIndex: number | null; advice: Advised };

/** Whether advice on an exercise is asked about by itself. */
export function isPendingAlone({ kind, why }: ExerciseAdvice): boolean {
  return kind !== 'stay' && why !== 'program';
}

/** Whether a program is to be looked at as a whole, and not because of one of its exercises. */
export function isReviewedWhole({ whole, exercises }: ProgramAdvice): boolean {
  return whole.kind === 'review' && !exercises.some(({ why }) => why === whole.why);
}

/** What a clinician is asked about one program. */
export function listPendingAdvice(program: ProgramAdvice): PendingAdvice[] {
  const exercises = program.exercises
    .filter(isPendingAlone)
    .map((advice) => ({ exerciseIndex: advice.exerciseIndex, advice }));
  return isReviewedWhole(program)
    ? [{ exerciseIndex: null, advice: program.whole }, ...exercises]
    : exercises;
}

/** What stands on the first page under a name of its own already. */
const toldOtherwise = ['sign-open', 'gone-quiet'] as const;

const waitingKinds = ['review', 'step-down', 'step-up'] as const satisfies readonly AdviceKind[];
export type WaitingKind = (typeof waitingKinds)[number];

/**
 * The gravest advice that no one has answered, over all programs of a patient; null when nothing waits.
 *
 * @param isAnswered whether a clinician has answered this piece of advice as it stands now
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
