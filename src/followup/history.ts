import type { Listened } from '../listening/listened.js';
import type { CheckInAnswers, EasierChoice, NotTodayReason } from '../listening/report.js';
import type { PrescribedExercise } from '../program/prescribed.js';

/** What happened so far, as the rules of the follow-up read it: one patient, all programs, oldest first throughout. */
export type History = {
  /** IANA zone of the patient; days are days there. */
  zone: string;
  nowMs: number;
  programs: readonly ProgramHistory[];
  /** When notes were written that no one has read yet: they hold every step up. */
  unreadNotesAtMs: readonly number[];
};

export type ProgramHistory = {
  prescriptionId: string;
  title: string;
  state: 'active' | 'paused' | 'ended';
  versions: readonly VersionHistory[];
  /** Every session that was planned up to now, and every other one that was begun. */
  outcomes: readonly Outcome[];
  warnings: readonly WarningGiven[];
};

/** One signed version. */
export type VersionHistory = {
  number: number;
  signedAtMs: number;
  /** How many sessions a week were prescribed; the listener may be free to choose among more. */
  sessionsAWeek: number;
  /** Null when today's catalogue can no longer say the version. */
  exercises: readonly PrescribedExercise[] | null;
  /** How long a usual session takes; null where `exercises` is. */
  durationMs: number | null;
  /** Where each exercise of a usual session ends, in the order of the program; empty where `exercises` is null. */
  exerciseEndsMs: readonly number[];
  /** The same of the easier sessions that were heard in place of a usual one. */
  easier?: Partial<Record<EasierChoice, { durationMs: number; exerciseEndsMs: readonly number[] }>>;
};

/**
 * `done`: to the end, or nine tenths of it, or reported as all of it. `partly`: begun, or reported as most or some.
 * `excused`: nothing was wanted, or the listener was unwell. `missed`: everything else that was wanted.
 */
export const outcomeKinds = ['done', 'partly', 'missed', 'excused'] as const;
export type OutcomeKind = (typeof outcomeKinds)[number];

/**
 * Why nothing was wanted: taken off the plan (pause, break, warning, change, a program that could not be played), a
 * free day, or put off unwell.
 */
const excuses = ['off-plan', 'free-day', 'unwell'] as const;
type Excuse = (typeof excuses)[number];

/** A check-in as it was kept; several of one session stay several. */
export type CheckInGiven = {
  id: string;
  atMs: number;
  answers: CheckInAnswers;
  /** Whoever answered for the patient; null when they did themselves. */
  caregiverId: string | null;
};

/** What came of one session. */
export type Outcome = {
  slot: string;
  /** `YYYY-MM-DD` in the patient's zone. */
  day: string;
  /** False for one that was begun although no plan knew its slot; it counts as practice, not as prescribed. */
  isPlanned: boolean;
  dueAtMs: number;
  /** The version that was listened to, or else the one that planned it. */
  versionNumber: number;
  kind: OutcomeKind;
  excuse: Excuse | null;
  /** Why it was put off, if it was. */
  putOff: NotTodayReason | null;
  listened: readonly Listened[];
  checkIns: readonly CheckInGiven[];
  /** What was reported and what was heard do not fit each other: all done but nothing heard through, or the reverse. */
  isContradictory: boolean;
};

/** A warning sign that was given. */
export type WarningGiven = {
  atMs: number;
  /** Null when it was not during a session of this program. */
  versionNumber: number | null;
  signs: readonly string[];
  answeredAtMs: number | null;
};
