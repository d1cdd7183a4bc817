import type { Listened } from '../listening/listened.js';
import type { CheckInAnswers, EasierChoice, NotTodayReason } from '../listening/report.js';
import type { PrescribedExercise } from '../program/prescribed.js';

/** What has happened so far, for the follow-up rules: one patient, all programs, oldest first throughout. */
export type History = {
  /** The patient's IANA zone; days are days in that zone. */
  zone: string;
  nowMs: number;
  programs: readonly ProgramHistory[];
  /** When the unread notes were written: they hold every step up. */
  unreadNotesAtMs: readonly number[];
};

export type ProgramHistory = {
  prescriptionId: string;
  title: string;
  state: 'active' | 'paused' | 'ended';
  versions: readonly VersionHistory[];
  /** Every session planned up to now, and every other one that was started. */
  outcomes: readonly Outcome[];
  warnings: readonly WarningGiven[];
};

/** One signed version. */
export type VersionHistory = {
  number: number;
  signedAtMs: number;
  /** The number of sessions prescribed per week; the listener may choose among more. */
  sessionsAWeek: number;
  /** Null if today's catalogue can no longer represent the version. */
  exercises: readonly PrescribedExercise[] | null;
  /** The length of a usual session; null if `exercises` is. */
  durationMs: number | null;
  /** Where each exercise of a usual session ends, in program order; empty if `exercises` is null. */
  exerciseEndsMs: readonly number[];
  /** The same for the easier sessions that were heard instead of a usual one. */
  easier?: Partial<Record<EasierChoice, { durationMs: number; exerciseEndsMs: readonly number[] }>>;
};

/**
 * `done`: heard to the end or to nine tenths, or reported as all done. `partly`: started, or reported as most or some.
 * `excused`: nothing was required, or the listener was unwell. `missed`: everything else that was scheduled.
 */
export const outcomeKinds = ['done', 'partly', 'missed', 'excused'] as const;
export type OutcomeKind = (typeof outcomeKinds)[number];

/**
 * Why nothing was required: canceled (pause, break, warning, change, a program that could not be played), a free day,
 * or skipped unwell.
 */
const excuses = ['off-plan', 'free-day', 'unwell'] as const;
type Excuse = (typeof excuses)[number];

/** A check-in as stored; several for one session are kept separate. */
export type CheckInGiven = {
  id: string;
  atMs: number;
  answers: CheckInAnswers;
  /** Who answered for the patient; null if they answered themselves. */
  caregiverId: string | null;
};

/** The outcome of one session. */
export type Outcome = {
  slot: string;
  /** `YYYY-MM-DD` in the patient's zone. */
  day: string;
  /** False for one that was started although no plan contained its slot; it counts as extra practice. */
  isPlanned: boolean;
  dueAtMs: number;
  /** The version that was played, or else the one that planned it. */
  versionNumber: number;
  kind: OutcomeKind;
  excuse: Excuse | null;
  /** Why it was skipped, if it was. */
  putOff: NotTodayReason | null;
  listened: readonly Listened[];
  checkIns: readonly CheckInGiven[];
  /** The report and what was heard do not match: all reported as done but not heard through, or the reverse. */
  isContradictory: boolean;
};

/** A warning sign that was reported. */
export type WarningGiven = {
  atMs: number;
  /** Null if it was not during a session of this program. */
  versionNumber: number | null;
  signs: readonly string[];
  answeredAtMs: number | null;
};
