import type { PrescribedExercise } from '../../program/prescribed.js';
import { looseProgram } from '../prescribing/looseProgram.js';
import type { Service } from '../service.js';

/** The dose keys that any exercise can have, in the order of the program file. */
export const doseNames = [
  'durationSeconds',
  'sets',
  'reps',
  'holdSeconds',
  'liftSeconds',
  'lowerSeconds',
  'restSeconds',
  'setRestSeconds',
] as const;

/** One exercise of a signed version. */
export type RecordedDose = {
  exerciseId: string;
  name: string;
  side: string | null;
  dose: Readonly<Record<string, number>>;
  note: string | null;
};

/**
 * The exercises of a signed version with their full doses. Of a version that today's catalogue does not know, only
 * what stands in it: the ids of its exercises and the doses that differ from the catalogue's of that day.
 */
export function dosesOf(
  { versions }: Service,
  prescriptionId: string,
  version: { number: number; content: string },
): RecordedDose[] {
  const { shown } = versions.kept(prescriptionId, version);
  return shown === null ? asWritten(version.content) : shown.program.exercises.map(recorded);
}

function recorded({ exercise, side, dose, note }: PrescribedExercise): RecordedDose {
  return { exerciseId: exercise.id, name: exercise.name, side, dose: { ...dose }, note };
}

function asWritten(content: string): RecordedDose[] {
  const { exercises } = looseProgram(Object(JSON.parse(content)).program);
  return exercises.map(({ exercise, side, dose, note }) => ({
    exerciseId: exercise,
    name: exercise,
    side: side ?? null,
    dose: Object.fromEntries(
      Object.entries(dose).flatMap(([key, value]) => (typeof value === 'number' ? [[key, value]] : [])),
    ),
    note: note ?? null,
  }));
}
