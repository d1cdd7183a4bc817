import type { Generated } from 'kysely';
import type { Listened } from '../../listening/listened.js';

/** The tables of the follow-up; the rules of {@link Database} hold. */
export interface FollowUpTables {
  listened: ListenedTable;
  measureTaken: MeasureTakenTable;
  measureWithdrawn: MeasureWithdrawnTable;
  ownMeasure: OwnMeasureTable;
  adviceAnswer: AdviceAnswerTable;
  progressNote: ProgressNoteTable;
  adviceWatch: AdviceWatchTable;
}

/** Each listening summed up, worked out again from its steps whenever one comes in: a year is read at once. */
interface ListenedTable extends Listened {
  patientId: string;
}

/** Append-only: what a clinician measured, or asked for. */
interface MeasureTakenTable {
  id: string;
  patientId: string;
  /** The id of a measure of the catalogue, or of one of the clinic's own. */
  measureId: string;
  /** In the measure's own unit. */
  value: number;
  /** As it was typed, with its unit. */
  entered: string;
  /** The day on which it was taken, ISO. */
  takenOn: string;
  note: string;
  clinicianId: string;
  atMs: number;
}

/** Append-only: a measure that was entered wrongly; it stays in the record, struck out. */
interface MeasureWithdrawnTable {
  measureTakenId: string;
  reason: string;
  clinicianId: string;
  atMs: number;
}

export const betterDirections = ['higher', 'lower', 'neither'] as const;
type BetterDirection = (typeof betterDirections)[number];

/** A measure of the clinic's own, for all of its patients, or an activity that one patient chose. */
interface OwnMeasureTable {
  id: string;
  clinicId: string;
  /** Null for one of the whole clinic. */
  patientId: string | null;
  name: string;
  /** As it is written behind the number; empty for a plain number. */
  unit: string;
  /** What can be entered, both inclusive. */
  least: number;
  most: number;
  better: BetterDirection;
  clinicianId: string;
  createdAtMs: number;
  endedAtMs: number | null;
}

export const adviceAnswers = ['accepted', 'edited', 'declined', 'looked-at'] as const;
type AdviceAnswer = (typeof adviceAnswers)[number];

/** Append-only: what a clinician said to a piece of advice. */
interface AdviceAnswerTable {
  id: string;
  patientId: string;
  prescriptionId: string;
  /** The version that the advice was about. */
  versionNumber: number;
  /** Place of the exercise in that version's program, from 0; null for advice on the whole program. */
  exerciseIndex: number | null;
  /** JSON of the advice with its rule and its numbers, as it was shown. */
  advice: string;
  answer: AdviceAnswer;
  reason: string;
  /** The version that came of it, or null. */
  newVersionNumber: number | null;
  clinicianId: string;
  atMs: number;
}

/** Append-only: a progress note as it was signed. */
interface ProgressNoteTable {
  id: string;
  patientId: string;
  /** The days that it is about, both inclusive, ISO. */
  fromDay: string;
  untilDay: string;
  /** The whole note, as it was read when it was signed. */
  text: string;
  clinicianId: string;
  atMs: number;
}

const adviceWaits = ['review', 'step-down', 'step-up'] as const;
export type AdviceWaits = (typeof adviceWaits)[number];

/** One row for each patient: when advice is worked out next, and what of it waits for an answer. */
interface AdviceWatchTable {
  patientId: string;
  clinicId: string;
  /** 0 for as soon as possible. */
  lookAtMs: number;
  /** The gravest that no one has answered; null for nothing. */
  waits: Generated<AdviceWaits | null>;
  /** Since when it is that; null where `waits` is. */
  sinceMs: Generated<number | null>;
}
