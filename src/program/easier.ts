import type { PrescribedExercise, PrescribedProgram } from './prescribed.js';

/** Durations stay multiples of half a minute, which take few words to say. */
const durationStepSeconds = 30;

/** Returns the same program in about this many minutes; null when its budget is already no larger. */
export function shorterProgram(program: PrescribedProgram, minutes: number): PrescribedProgram | null {
  const { timeBudgetMinutes } = program;
  if (timeBudgetMinutes !== undefined && timeBudgetMinutes <= minutes) return null;
  return { ...program, timeBudgetMinutes: minutes };
}

/**
 * Rule DOSE-4: returns the same program with about half the repetitions, and holds and durations about half as long,
 * never below an exercise's limits and never above the prescription. Rests, pace, order, set-up and words stay. Null
 * when nothing can be reduced.
 *
 * Half means half of all repetitions, because halving sets, repetitions and holds each would leave an eighth of the
 * work.
 */
export function lighterProgram(program: PrescribedProgram): PrescribedProgram | null {
  const exercises = program.exercises.map(lighter);
  const isLighter = exercises.some((exercise, index) => exercise !== program.exercises[index]);
  return isLighter ? { ...program, exercises } : null;
}

function lighter(prescribed: PrescribedExercise): PrescribedExercise {
  const dose: Readonly<Record<string, number>> = prescribed.dose;
  const less = { ...lessWork(prescribed), ...halfOf(prescribed, 'holdSeconds', 1) };
  const shorter = halfOf(prescribed, 'durationSeconds', durationStepSeconds);
  const changed = Object.entries({ ...less, ...shorter }).filter(([key, value]) => value !== dose[key]);
  if (changed.length === 0) return prescribed;
  // Only existing numbers of the dose were reduced, so its shape is unchanged.
  return { ...prescribed, dose: { ...dose, ...Object.fromEntries(changed) } } as PrescribedExercise;
}

/** Reduces repetitions per set first, and sets where the limits allow no fewer repetitions. */
function lessWork(prescribed: PrescribedExercise): Record<string, number> {
  const { sets, reps }: Readonly<Record<string, number>> = prescribed.dose;
  if (sets === undefined || reps === undefined) return {};
  const fewerReps = between(Math.ceil(reps / 2), leastOf(prescribed, 'reps'), reps);
  const half = Math.ceil((sets * reps) / 2);
  const fewerSets = between(Math.ceil(half / fewerReps), leastOf(prescribed, 'sets'), sets);
  return { reps: fewerReps, sets: fewerSets };
}

function halfOf(prescribed: PrescribedExercise, key: string, step: number): Record<string, number> {
  const dose: Readonly<Record<string, number>> = prescribed.dose;
  const value = dose[key];
  if (value === undefined) return {};
  return { [key]: between(Math.ceil(value / 2 / step) * step, leastOf(prescribed, key), value) };
}

/** Returns the least whole number within the limit; doses are whole numbers, limits may not be. */
function leastOf({ exercise }: PrescribedExercise, key: string): number {
  const limits: Readonly<Record<string, { min: number }>> = exercise.limits;
  return Math.ceil(limits[key]?.min ?? Number.POSITIVE_INFINITY);
}

function between(value: number, least: number, most: number): number {
  return Math.min(most, Math.max(least, value));
}
