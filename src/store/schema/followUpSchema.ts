import type { Generated } from 'kysely';
import type { Listened } from '../../listening/listened.js';

/** The tables of the follow-up; the rules of {@link Database} apply. */
export interface FollowUpTables {
  listened: ListenedTable;
  measureTaken: MeasureTakenTable;
  measureWithdrawn: MeasureWithdrawnTable;
  ownMeasure: OwnMeasureTable;
  adviceAnswer: AdviceAnswerTable;
  progressNote: ProgressNoteTable;
  adviceWatch: AdviceWatchTable;
}

/** A summary of each playback, recomputed from its steps whenever one arrives: a year is read at once. */
interface ListenedTable extends Listened {
  patientId: string;
}

/** Append-only: what a clinician measured or asked. */
interface MeasureTakenTable {
  id: string;
  patientId: string;
  /** The id of a measure of the catalogue, or of a clinic measure. */
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

/** Append-only: a withdrawn measure; it stays in the record. */
interface MeasureWithdrawnTable {
  measureTakenId: string;
  reason: string;
  clinicianId: string;
  atMs: number;
}

export const betterDirections = ['higher', 'lower', 'neither'] as const;
type BetterDirection = (typeof betterDirections)[number];

/** A clinic measure, for all patients, or an activity that one patient chose. */
interface OwnMeasureTable {
  id: string;
  clinicId: string;
  /** Null for one that belongs to the whole clinic. */
  patientId: string | null;
  name: string;
  /** As written after the number; empty for a plain number. */
  unit: string;
  /** The allowed range, both inclusive. */
  least: number;
  most: number;
  better: BetterDirection;
  clinicianId: string;
  createdAtMs: number;
  endedAtMs: number | null;
}

export const adviceAnswers = ['accepted', 'edited', 'declined', 'looked-at'] as const;
type AdviceAnswer = (typeof adviceAnswers)[number];

/** Append-only: a clinician's answer to a piece of advice. */
interface AdviceAnswerTable {
  id: string;
  patientId: string;
  prescriptionId: string;
  /** The version that the advice was about. */
  versionNumber: number;
  /** The exercise's position in that version's program, from 0; null for advice on the whole program. */
  exerciseIndex: number | null;
  /** JSON of the advice with its rule and its numbers, as shown. */
  advice: string;
  answer: AdviceAnswer;
  reason: string;
  /** The resulting version, or null. */
  newVersionNumber: number | null;
  clinicianId: string;
  atMs: number;
}

/** Append-only: a progress note as signed. */
interface ProgressNoteTable {
  id: string;
  patientId: string;
  /** The days it covers, both inclusive, ISO. */
  fromDay: string;
  untilDay: string;
  /** The whole note, as read when it was signed. */
  text: string;
  clinicianId: string;
  atMs: number;
}

const adviceWaits = ['review', 'step-down', 'step-up'] as const;
export type AdviceWaits = (typeof adviceWaits)[number];

/** One row per patient: when advice is next recomputed, and which of it waits for an answer. */
interface AdviceWatchTable {
  patientId: string;
  clinicId: string;
  /** 0 for as soon as possible. */
  lookAtMs: number;
  /** The most serious unanswered advice; null for none. */
  waits: Generated<AdviceWaits | null>;
  /** Since when; null if `waits` is. */
  sinceMs: Generated<number | null>;
}
