import type { PrescribedExercise, PrescribedProgram } from './prescribed.js';

/** Durations stay whole half minutes, which are told in few words. */
const durationStepSeconds = 30;

/** The same program in about so many minutes; null when it has a budget that is no larger already. */
export function shorterProgram(program: PrescribedProgram, minutes: number): PrescribedProgram | null {
  const { timeBudgetMinutes } = program;
  if (timeBudgetMinutes !== undefined && timeBudgetMinutes <= minutes) return null;
  return { ...program, timeBudgetMinutes: minutes };
}

/**
 * Rule DOSE-4: the same program with about half of the repetitions, holds and durations about half as long, never
 * under the limits of an exercise and never above what was prescribed. Rests, pace, order, set-up and words stay.
 * Null when there is nothing that could be less.
 *
 * Half is half of all repetitions: halving sets, repetitions and holds each would leave an eighth of the work.
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
  // Only numbers that the dose has were made smaller, so that its shape is the same.
  return { ...prescribed, dose: { ...dose, ...Object.fromEntries(changed) } } as PrescribedExercise;
}

/** Fewer repetitions in a row first; fewer sets where the limits allow no fewer repetitions. */
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

/** Doses are whole numbers; a limit need not be one. */
function leastOf({ exercise }: PrescribedExercise, key: string): number {
  const limits: Readonly<Record<string, { min: number }>> = exercise.limits;
  return Math.ceil(limits[key]?.min ?? Number.POSITIVE_INFINITY);
}

function between(value: number, least: number, most: number): number {
  return Math.min(most, Math.max(least, value));
}
