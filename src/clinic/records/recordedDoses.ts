import { reportAdaptations } from '../../documents/settledFor.js';
import { looseProgram } from '../../prescription/looseProgram.js';
import type { PrescribedExercise } from '../../program/prescribed.js';
import type { VersionContent } from '../../store/people/chart.js';
import type { Resources } from '../resources/resources.js';

/** The dose keys any exercise can have, in the order of the program file. */
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
  /** What is scheduled and heard: less than prescribed if a precaution sets a ceiling. */
  dose: Readonly<Record<string, number>>;
  note: string | null;
  /** What precautions change, and therefore what was prescribed. */
  adapted: readonly string[];
};

/**
 * The exercises of a signed version with their full doses. For a version that today's catalogue does not know, only
 * what it contains: the ids of its exercises and the doses that differ from that day's catalogue. Empty for a damaged
 * version.
 */
export function dosesOf(
  { versions }: Pick<Resources, 'versions'>,
  prescriptionId: string,
  version: VersionContent,
): RecordedDose[] {
  const { shown } = versions.kept(prescriptionId, version);
  if (shown !== null) return shown.program.exercises.map(recorded);
  return version.content === null ? [] : asWritten(version.content);
}

function recorded(prescribed: PrescribedExercise): RecordedDose {
  const { exercise, side, dose, note } = prescribed;
  const adapted = reportAdaptations(prescribed).map(({ precaution, changes }) => `${precaution}: ${changes}`);
  return { exerciseId: exercise.id, name: exercise.name, side, dose: { ...dose }, note, adapted };
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
    adapted: [],
  }));
}
