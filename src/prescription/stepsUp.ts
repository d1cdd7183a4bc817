import type { PrescribedExercise } from '../program/prescribed.js';
import { type ReadPrescription, type Timetable, weekdays } from './content.js';
import { keyExercises } from './differences.js';
import { doseName } from './doseWords.js';

/** A larger value of these is more work, */
const moreIsMore = ['durationSeconds', 'sets', 'reps', 'holdSeconds', 'liftSeconds', 'lowerSeconds'] as const;
/** and a smaller value of these is denser work. */
const lessIsMore = ['restSeconds', 'setRestSeconds'] as const;

/**
 * Rule DOSE-5: lists everything that a version increases over the one before it, with precautions applied: a larger
 * dose, less rest, a second side, another exercise, more sessions per week. Empty where nothing increases.
 *
 * @param before null for a first version, in which everything is an increase
 * @returns words for the clinician, such as "Bridge: repetitions"
 */
export function listDoseIncreases(before: ReadPrescription | null, after: ReadPrescription): string[] {
  const old = keyExercises(before?.program.exercises ?? []);
  const exercises = [...keyExercises(after.program.exercises)].flatMap(([key, now]) => {
    const then = old.get(key);
    const { name } = now.exercise;
    return then === undefined ? [name] : grown(then, now).map((what) => `${name}: ${what}`);
  });
  if (before === null) return exercises;
  const isMoreOften = sessionsAWeek(after) > sessionsAWeek(before);
  const isLonger = minutesOf(after) > minutesOf(before);
  return [...(isMoreOften ? ['sessions a week'] : []), ...(isLonger ? ['time budget'] : []), ...exercises];
}

function grown(then: PrescribedExercise, now: PrescribedExercise): string[] {
  const from: Readonly<Record<string, number>> = then.dose;
  const to: Readonly<Record<string, number>> = now.dose;
  const isMore = (key: string, sign: 1 | -1) => sign * ((to[key] ?? 0) - (from[key] ?? 0)) > 0;
  const doses = [
    ...moreIsMore.filter((key) => isMore(key, 1)),
    ...lessIsMore.filter((key) => isMore(key, -1)),
  ].map(doseName);
  return sidesOf(now) > sidesOf(then) ? [...doses, 'both sides'] : doses;
}

function sidesOf({ side }: PrescribedExercise): 1 | 2 {
  return side === 'both' || side === 'alternate' ? 2 : 1;
}

function sessionsAWeek({ timesADay, daysAWeek, weekdayTimes }: Timetable): number {
  const counts = weekdays.map((weekday) => weekdayTimes[weekday]?.length ?? timesADay);
  return counts
    .sort((a, b) => b - a)
    .slice(0, daysAWeek)
    .reduce((sum, count) => sum + count, 0);
}

function minutesOf({ program }: ReadPrescription): number {
  return program.timeBudgetMinutes ?? Number.POSITIVE_INFINITY;
}
