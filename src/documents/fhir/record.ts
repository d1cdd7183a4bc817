import type { Outcome } from '../../followup/history.js';
import type { Urgency } from '../../followup/warningSigns.js';
import type { CheckInAnswers } from '../../listening/report.js';
import type { Timetable } from '../../prescription/content.js';

/**
 * The data for a FHIR bundle about one patient: their current record, each list oldest first. Ids are the record's own.
 */
export type FhirRecord = {
  madeAtMs: number;
  clinic: { id: string; name: string; phone: string };
  patient: {
    id: string;
    name: string;
    birthYear: number | null;
    language: string;
    phone: string;
    email: string;
    goals: readonly string[];
  };
  /** All clinicians who signed, measured or answered anything in it. */
  clinicians: readonly { id: string; name: string }[];
  caregivers: readonly RecordedCaregiver[];
  programs: readonly RecordedProgram[];
  checkIns: readonly RecordedCheckIn[];
  measures: readonly RecordedMeasure[];
  warnings: readonly RecordedWarning[];
  /** The warning signs that a listener can currently choose, as text. */
  signs: readonly { id: string; words: string }[];
};

export type RecordedCaregiver = {
  id: string;
  name: string;
  relation: string;
  phone: string;
  email: string;
  createdAtMs: number;
  endedAtMs: number | null;
};

export type RecordedProgram = {
  id: string;
  title: string;
  state: 'active' | 'paused' | 'ended';
  /** When the program ended; null if it has not. */
  endedAtMs: number | null;
  versions: readonly RecordedVersion[];
  /** Numbers of the damaged versions, whose content is unknown. */
  damaged: readonly number[];
  outcomes: readonly Outcome[];
};

export type RecordedVersion = {
  number: number;
  title: string;
  signedAtMs: number;
  signedBy: string;
  reason: string;
  timetable: Timetable;
  /** The timetable as text. */
  when: string;
  exercises: readonly RecordedExercise[];
};

export type RecordedExercise = {
  name: string;
  /** Each part of the dose as text, such as `hold 5 s`. */
  dose: readonly string[];
  /** Length of a sustained exercise; null for one that counts repetitions. */
  durationSeconds: number | null;
  /** The side as text; null where there is none to choose. */
  side: string | null;
  /** The clinician's spoken note; null without one. */
  note: string | null;
};

/** The fields of every report from a listener's phone. */
type Reported = {
  id: string;
  prescriptionId: string;
  versionNumber: number;
  /** The caregiver who answered for the patient; null when the patient answered. */
  caregiverId: string | null;
  atMs: number;
  receivedAtMs: number;
};

export type RecordedCheckIn = Reported & {
  answers: CheckInAnswers;
  /** The clinician who has read the note in it; null until someone has, and without a note. */
  noteRead: { clinicianId: string; atMs: number; found: string } | null;
};

export type RecordedWarning = Reported & {
  /** The signs as text; empty when the listener only reported that something is wrong. */
  signs: readonly string[];
  urgency: Urgency | null;
  /** What a clinician did about it; null until someone has acted. */
  answer: { note: string; atMs: number; clinicianId: string } | null;
};

export type RecordedMeasure = {
  id: string;
  /** The id of a measure from the catalogue or of a clinic's own. */
  measureId: string;
  name: string;
  /** The unit as printed after the number; empty for a plain number. */
  unit: string;
  value: number;
  /** The day, ISO. */
  takenOn: string;
  note: string;
  clinicianId: string;
  atMs: number;
  /** Why it was withdrawn; null if it was not. */
  withdrawnReason: string | null;
};
