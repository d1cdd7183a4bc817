import type { Outcome } from '../../followup/history.js';
import type { Urgency } from '../../followup/warningSigns.js';
import type { CheckInAnswers } from '../../listening/report.js';
import type { Timetable } from '../../prescription/content.js';

/**
 * What goes into a FHIR bundle about one patient: their record as it stands, each list oldest first. Ids are the
 * record's own.
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
  /** Everyone of the clinic who signed, measured or answered anything in it. */
  clinicians: readonly { id: string; name: string }[];
  caregivers: readonly RecordedCaregiver[];
  programs: readonly RecordedProgram[];
  checkIns: readonly RecordedCheckIn[];
  measures: readonly RecordedMeasure[];
  warnings: readonly RecordedWarning[];
  /** The signs that a listener can choose from today, in words. */
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
  /** When it ended; null for one that has not. */
  endedAtMs: number | null;
  versions: readonly RecordedVersion[];
  /** The numbers of versions that are damaged, of which nothing is known. */
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
  /** The timetable in words. */
  when: string;
  exercises: readonly RecordedExercise[];
};

export type RecordedExercise = {
  name: string;
  /** Each part of its dose in words, such as `hold 5 s`. */
  dose: readonly string[];
  /** Of one that goes on for a time; null for one that is counted. */
  durationSeconds: number | null;
  /** On which side, in words; null where there is none to choose. */
  side: string | null;
  /** The clinician's own spoken words; null for none. */
  note: string | null;
};

/** What every report of a listener's phone has. */
type Reported = {
  id: string;
  prescriptionId: string;
  versionNumber: number;
  /** Who answered for the patient; null when they did themselves. */
  caregiverId: string | null;
  atMs: number;
  receivedAtMs: number;
};

export type RecordedCheckIn = Reported & {
  answers: CheckInAnswers;
  /** Who has read the note in it; null as long as no one has, and where there is none. */
  noteRead: { clinicianId: string; atMs: number; found: string } | null;
};

export type RecordedWarning = Reported & {
  /** In words; none when the listener only said that something is wrong. */
  signs: readonly string[];
  urgency: Urgency | null;
  /** What a clinician did about it; null as long as no one has. */
  answer: { note: string; atMs: number; clinicianId: string } | null;
};

export type RecordedMeasure = {
  id: string;
  /** The id of a measure of the catalogue, or of one of the clinic's own. */
  measureId: string;
  name: string;
  /** As it stands behind the number; empty for a plain number. */
  unit: string;
  value: number;
  /** ISO day. */
  takenOn: string;
  note: string;
  clinicianId: string;
  atMs: number;
  /** Why it was struck out; null for one that stands. */
  withdrawnReason: string | null;
};
