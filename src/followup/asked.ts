import type { AdviceKind, Advised, ExerciseAdvice, ProgramAdvice } from './adviceParts.js';

/** One thing that a clinician is asked about: an exercise, or the program as a whole where `exerciseIndex` is null. */
export type Asked = { exerciseIndex: number | null; advice: Advised };

/** Whether advice on an exercise is asked about by itself. */
export function isAskedAlone({ kind, why }: ExerciseAdvice): boolean {
  return kind !== 'stay' && why !== 'program';
}

/** Whether a program is to be looked at as a whole, and not because of one of its exercises. */
export function isReviewedWhole({ whole, exercises }: ProgramAdvice): boolean {
  return whole.kind === 'review' && !exercises.some(({ why }) => why === whole.why);
}

/** What a clinician is asked about one program. */
export function askedOf(program: ProgramAdvice): Asked[] {
  const exercises = program.exercises
    .filter(isAskedAlone)
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
