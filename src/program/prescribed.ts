import type { Catalogue } from '../catalogue/catalogue.js';
import type { Exercise, ExerciseOf, TimingShape } from '../catalogue/schema.js';
import type { SetUp } from '../catalogue/setUp.js';
import type { Program, SideChoice } from './schema.js';

/** One exercise of a program with every choice made: full dose, side, set-up. */
export type PrescribedOf<Timing extends TimingShape> = {
  /** Place in the program file, from 0. */
  index: number;
  timing: Timing;
  exercise: ExerciseOf<Timing>;
  dose: ExerciseOf<Timing>['dose'];
  /** Null where the exercise has no side to choose. */
  side: SideChoice | null;
  setUp: SetUp;
  note: string | null;
  /** New to the patient in this session, so that it is explained in full. */
  isNew: boolean;
};
export type PrescribedExercise = { [Timing in TimingShape]: PrescribedOf<Timing> }[TimingShape];

/** A program that has been checked against its catalogue. */
export type PrescribedProgram = Omit<Program, 'exercises'> & {
  /** The file it came from, for messages. */
  file: string;
  /** The catalogue of the program's language, against which it was checked. */
  catalogue: Catalogue;
  exercises: readonly PrescribedExercise[];
};

/** The dose keys of an exercise, for example `sets`, `reps`, `holdSeconds`. */
export function doseKeys(exercise: Exercise): string[] {
  return Object.keys(exercise.dose);
}
