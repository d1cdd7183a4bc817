import type { Dose, DoseLimit } from './ladder.js';

/** What a clinician may be advised to do. Advice is never carried out automatically: she signs it or not. */
export const adviceKinds = ['step-up', 'stay', 'step-down', 'review'] as const;
export type AdviceKind = (typeof adviceKinds)[number];

/** The reason: the first that applies, in this order. */
export const adviceReasons = [
  // For the whole program: review.
  'sign-open',
  'sign-recent',
  'sign-since',
  'contradictory',
  'pain-severe',
  'pain-high',
  'pain-high-before',
  'broken-off',
  'put-off-unwell',
  'pain-worse',
  'gone-quiet',
  'too-little-done',
  'unreadable',
  // For an exercise.
  'program',
  'pain-stays',
  'pain-creeps',
  'too-hard',
  'effort-climbs',
  'note-unread',
  'waits',
  'no-steps',
  'off-ladder',
  'top',
  'limited',
  'all-met',
  'effort-above',
  'not-yet',
] as const;
export type AdviceReason = (typeof adviceReasons)[number];

/** The criteria for a step, each with its number. */
export const conditionIds = [
  'unread-notes',
  'open-signs',
  'days-since-sign',
  'signed-since-sign',
  'contradictions',
  'severest-pain',
  'high-pain-days',
  'high-pain-before-days',
  'steepest-rise',
  'broken-off-in-a-row',
  'unwell-days',
  'pain-since-begin',
  'quiet-days',
  'share-possible',
  'flares',
  'pain-course',
  'too-hard-in-a-row',
  'effort-course',
  'days',
  'other-change',
  'share',
  'sessions',
  'gap',
  'all-done',
  'answered',
  'rise-on-day',
  'rise-after',
  'pain-before',
  'pain',
  'effort',
] as const;
export type ConditionId = (typeof conditionIds)[number];

export type Condition = {
  id: ConditionId;
  /** Null if nothing is known, which never counts as met. Shares are from 0 to 1. */
  found: number | null;
  /** The number that `found` is out of; null if that does not apply. */
  of: number | null;
  wanted: number;
  /** Whether `wanted` is a minimum or a maximum. */
  bound: 'least' | 'most';
  holds: boolean;
};

/** The data of the small chart, oldest first; one value per answered session. */
export type AdviceSeries = {
  painAfter: readonly { day: string; value: number }[];
  effort: readonly { day: string; value: number }[];
};

export type Advised = {
  kind: AdviceKind;
  why: AdviceReason;
  conditions: readonly Condition[];
  /** Changes whenever the advice, or its basis, changes: an answer applies to one key. */
  key: string;
};

export type ExerciseAdvice = Advised & {
  /** The position in the program, from 0. */
  exerciseIndex: number;
  exerciseId: string;
  /** Null for an exercise without steps. */
  ruleId: string | null;
  /** As prescribed; precautions may keep the actual dose below it. */
  dose: Dose;
  /** The ceilings from precautions that prevent the next step. */
  limits: readonly DoseLimit[];
  /** The full advised dose; null unless it is a step up or down. */
  to: Dose | null;
  /** Its name on the ladder; null for the starting dose. */
  toName: string | null;
  /** When this dose took effect. */
  sinceMs: number;
};

export const painChanges = ['better', 'worse', 'no-real-change'] as const;

/** The change in pain before sessions, as medians of the first week and the last, out of 10. */
export type PainCourse = { from: number; to: number; change: (typeof painChanges)[number] };

/** Advice on the newest version of one program. */
export type ProgramAdvice = {
  prescriptionId: string;
  title: string;
  versionNumber: number;
  /** For the program as a whole: `review`, or the most serious advice of its exercises. */
  whole: Advised;
  exercises: readonly ExerciseAdvice[];
  series: AdviceSeries;
  /** Null while there are too few answers. */
  painCourse: PainCourse | null;
};
