import type { Adaptation } from '../catalogue/adaptation.js';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { Exercise, ExerciseOf, TimingShape } from '../catalogue/schema.js';
import type { SetUp } from '../catalogue/setUp.js';
import type { Program, SideChoice } from './schema.js';

/** An adaptation as settled for this person's precaution, and the exercises that it changes. */
export type AppliedAdaptation = {
  ruleId: string;
  /** The name of the precaution, as in the record. */
  precaution: string;
  /** `clearance`: someone cleared the exercise, on the conditions of the adaptation. */
  measure: 'change' | 'clearance';
  adaptation: Adaptation;
  /** Ids of the exercises that it applies to; lying down and getting up may be among them. */
  exercises: readonly string[];
};

/** An adaptation as applied to one exercise of a program. */
type MetAdaptation = AppliedAdaptation & {
  /** The sentence it adds before the exercise, filled in; null for none. */
  said: string | null;
};

/** One exercise of a program with every choice made: full dose, side, set-up. */
export type PrescribedOf<Timing extends TimingShape> = {
  /** Index in the program file, from 0. */
  index: number;
  timing: Timing;
  exercise: ExerciseOf<Timing>;
  /** The dose as done and heard: as prescribed, or less where an adaptation sets a ceiling. */
  dose: ExerciseOf<Timing>['dose'];
  /** Null where the exercise has no side to choose. */
  side: SideChoice | null;
  /** The patient's set-up: as prescribed, or as an adaptation changes it. */
  setUp: SetUp;
  note: string | null;
  /** Whether it is new to the patient in this session, so that it is explained in full. */
  isNew: boolean;
  /** What the clinician wrote, before any adaptation. */
  asPrescribed: { dose: ExerciseOf<Timing>['dose']; setUp: SetUp };
  /** The settled precautions that apply to it. */
  adaptations: readonly MetAdaptation[];
};
export type PrescribedExercise = { [Timing in TimingShape]: PrescribedOf<Timing> }[TimingShape];

/** A program that has been validated against its catalogue. */
export type PrescribedProgram = Omit<Program, 'exercises'> & {
  /** The file it came from, for messages. */
  file: string;
  /** The catalogue of the program's language, which it was validated against. */
  catalogue: Catalogue;
  exercises: readonly PrescribedExercise[];
  /** What the clinician wrote, before any adaptation. */
  asPrescribed: { setUp: SetUp };
  /** The settled precautions; they are already applied to the exercises. */
  adaptations: readonly AppliedAdaptation[];
};

/** Returns the dose keys of an exercise, for example `sets`, `reps`, `holdSeconds`. */
export function doseKeys(exercise: Exercise): string[] {
  return Object.keys(exercise.dose);
}
