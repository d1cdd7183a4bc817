import type { Adaptation } from '../catalogue/adaptation.js';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { Exercise, ExerciseOf, TimingShape } from '../catalogue/schema.js';
import type { SetUp } from '../catalogue/setUp.js';
import type { Program, SideChoice } from './schema.js';

/** A precaution's "done this way", as it was settled for this person, and the exercises that it changes. */
export type AppliedAdaptation = {
  ruleId: string;
  /** The name of the precaution, as in the record. */
  precaution: string;
  /** `clearance`: someone allowed the exercise, under what the adaptation says. */
  measure: 'change' | 'clearance';
  adaptation: Adaptation;
  /** Ids of the exercises that it meets; the way down and up again may be among them. */
  exercises: readonly string[];
};

/** An adaptation as it meets one exercise of a program. */
type MetAdaptation = AppliedAdaptation & {
  /** What it has said before the exercise, filled in; null for nothing. */
  said: string | null;
};

/** One exercise of a program with every choice made: full dose, side, set-up. */
export type PrescribedOf<Timing extends TimingShape> = {
  /** Place in the program file, from 0. */
  index: number;
  timing: Timing;
  exercise: ExerciseOf<Timing>;
  /** What is done and heard: as prescribed, or less where an adaptation sets a ceiling. */
  dose: ExerciseOf<Timing>['dose'];
  /** Null where the exercise has no side to choose. */
  side: SideChoice | null;
  /** How the patient lies for it: as prescribed, or as an adaptation asks. */
  setUp: SetUp;
  note: string | null;
  /** New to the patient in this session, so that it is explained in full. */
  isNew: boolean;
  /** What the clinician wrote, before any adaptation. */
  asPrescribed: { dose: ExerciseOf<Timing>['dose']; setUp: SetUp };
  /** What was settled about precautions that meet it. */
  adaptations: readonly MetAdaptation[];
};
export type PrescribedExercise = { [Timing in TimingShape]: PrescribedOf<Timing> }[TimingShape];

/** A program that has been checked against its catalogue. */
export type PrescribedProgram = Omit<Program, 'exercises'> & {
  /** The file it came from, for messages. */
  file: string;
  /** The catalogue of the program's language, against which it was checked. */
  catalogue: Catalogue;
  exercises: readonly PrescribedExercise[];
  /** What the clinician wrote, before any adaptation. */
  asPrescribed: { setUp: SetUp };
  /** What was settled about precautions; the exercises have it applied. */
  adaptations: readonly AppliedAdaptation[];
};

/** The dose keys of an exercise, for example `sets`, `reps`, `holdSeconds`. */
export function doseKeys(exercise: Exercise): string[] {
  return Object.keys(exercise.dose);
}
