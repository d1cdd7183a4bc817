import { inputError } from '../errors/stillcountError.js';
import type { PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { workSeconds } from '../program/workSeconds.js';
import type { Placed } from './place/placeBlocks.js';
import type { AdjustmentNote } from './place/timeline.js';

/** Lays out, measures and places one candidate. */
export type Attempt = (program: PrescribedProgram, brief: boolean) => Promise<Placed>;

/** The step by which a duration is shortened. */
const durationStepSeconds = 30;

/**
 * Fits a session to its time budget. It tries shorter set-up wording first, then shorter durations, then fewer
 * repetitions, then fewer sets, never below an exercise's limits. Rests, holds, breath phases and safety wording stay
 * as they are. A budget never makes a session longer.
 *
 * @throws StillcountError kind `input` when the session is still too long at the lowest doses the limits allow
 */
export async function fitBudget(program: PrescribedProgram, attempt: Attempt): Promise<Placed> {
  const asPrescribed = await attempt(program, false);
  const { timeBudgetMinutes } = program;
  if (timeBudgetMinutes === undefined) return asPrescribed;
  const budgetMs = Math.round(timeBudgetMinutes * 60_000);
  if (asPrescribed.durationMs <= budgetMs) return asPrescribed;

  let fitted = program;
  let placed = await attempt(fitted, true);
  const shortened = placed.durationMs < asPrescribed.durationMs;
  while (placed.durationMs > budgetMs) {
    const smaller = reduce(fitted, (placed.durationMs - budgetMs) / 1000);
    if (smaller === null) throw budgetTooSmall(program, placed.durationMs);
    fitted = smaller;
    placed = await attempt(fitted, true);
  }
  return {
    ...placed,
    notes: [
      ...(shortened ? [{ kind: 'wording-shortened' as const, values: {} }] : []),
      ...doseNotes(program, fitted),
      ...placed.notes,
    ],
  };
}

/** Reduces doses step by step until about the excess is saved; null when nothing can be reduced further. */
function reduce(program: PrescribedProgram, excessSeconds: number): PrescribedProgram | null {
  const exercises = [...program.exercises];
  let savedSeconds = 0;
  while (savedSeconds < excessSeconds) {
    const step = largestStep(exercises, program);
    if (step === null) break;
    exercises[step.index] = step.smaller;
    savedSeconds += step.savedSeconds;
  }
  return savedSeconds === 0 ? null : { ...program, exercises };
}

type Step = { index: number; smaller: PrescribedExercise; savedSeconds: number };
const reducibleKeys = ['durationSeconds', 'reps', 'sets'] as const;

/** Finds the first kind of dose that can still shrink, and the exercise that is furthest above its minimum for it. */
function largestStep(exercises: readonly PrescribedExercise[], program: PrescribedProgram): Step | null {
  for (const key of reducibleKeys) {
    const candidates = exercises.flatMap((prescribed, index) => {
      const smaller = oneStepSmaller(prescribed, key);
      if (smaller === null) return [];
      const savedSeconds = workSeconds(prescribed, program.breath) - workSeconds(smaller, program.breath);
      return savedSeconds > 0 ? [{ index, smaller, savedSeconds, spare: spareShare(prescribed, key) }] : [];
    });
    const [most] = candidates.sort((a, b) => b.spare - a.spare || a.index - b.index);
    if (most !== undefined) return most;
  }
  return null;
}

function oneStepSmaller(
  prescribed: PrescribedExercise,
  key: (typeof reducibleKeys)[number],
): PrescribedExercise | null {
  const { value, min } = doseOf(prescribed, key);
  if (value === undefined || value <= min) return null;
  const stepped = key === 'durationSeconds' ? Math.max(min, value - durationStepSeconds) : value - 1;
  if (stepped < min) return null;
  return { ...prescribed, dose: { ...prescribed.dose, [key]: stepped } } as PrescribedExercise;
}

function spareShare(prescribed: PrescribedExercise, key: string): number {
  const { value, min } = doseOf(prescribed, key);
  return value === undefined ? 0 : (value - min) / value;
}

function doseOf(prescribed: PrescribedExercise, key: string): { value: number | undefined; min: number } {
  const dose: Readonly<Record<string, number>> = prescribed.dose;
  const limits: Readonly<Record<string, { min: number }>> = prescribed.exercise.limits;
  return { value: dose[key], min: limits[key]?.min ?? Number.POSITIVE_INFINITY };
}

function doseNotes(before: PrescribedProgram, after: PrescribedProgram): AdjustmentNote[] {
  return before.exercises.flatMap((prescribed, index) =>
    reducibleKeys.flatMap((key): AdjustmentNote[] => {
      const from = doseOf(prescribed, key).value;
      const reduced = after.exercises[index];
      const to = reduced === undefined ? undefined : doseOf(reduced, key).value;
      if (from === undefined || to === undefined || from === to) return [];
      const dose = key === 'durationSeconds' ? 'seconds' : key;
      return [
        { kind: 'dose-fitted', exercise: prescribed.exercise.id, values: { dose, from, to, entry: index } },
      ];
    }),
  );
}

function budgetTooSmall(program: PrescribedProgram, leastMs: number) {
  return inputError({
    file: program.file,
    path: 'timeBudgetMinutes',
    message: 'the session cannot be made this short within the limits of its exercises',
    found: `${program.timeBudgetMinutes} minutes`,
    allowed: `at least ${Math.ceil(leastMs / 6_000) / 10} minutes, or fewer exercises`,
  });
}
