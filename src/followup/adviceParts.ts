import type { Dose, DoseLimit } from './ladder.js';

/** What a clinician may be advised to do. Advice is never carried out by itself: she signs, or she does not. */
export const adviceKinds = ['step-up', 'stay', 'step-down', 'review'] as const;
export type AdviceKind = (typeof adviceKinds)[number];

/** Why: the first of the reasons that hold, in this order. */
export const adviceReasons = [
  // Of the whole program: review.
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
  // Of an exercise.
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

/** What is asked of the data before a step, each with its number. */
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
  /** Null when nothing is known, which never counts as good. Shares are from 0 to 1. */
  found: number | null;
  /** Of how many `found` was counted; null where that means nothing. */
  of: number | null;
  wanted: number;
  /** Whether `wanted` is the least or the most that is wanted. */
  bound: 'least' | 'most';
  holds: boolean;
};

/** What the small picture shows, oldest first; a value for each session that was answered. */
export type AdviceSeries = {
  painAfter: readonly { day: string; value: number }[];
  effort: readonly { day: string; value: number }[];
};

export type Advised = {
  kind: AdviceKind;
  why: AdviceReason;
  conditions: readonly Condition[];
  /** Changes when what is advised, or what it rests on, is no longer the same: an answer holds for one key. */
  key: string;
};

export type ExerciseAdvice = Advised & {
  /** Place in the program, from 0. */
  exerciseIndex: number;
  exerciseId: string;
  /** Null for an exercise without steps. */
  ruleId: string | null;
  /** As prescribed; precautions may keep what is done below it. */
  dose: Dose;
  /** The ceilings of precautions that stand against the next step. */
  limits: readonly DoseLimit[];
  /** The full dose that is advised; null unless it is a step up or down. */
  to: Dose | null;
  /** What the ladder calls it; null for the dose with which the exercise begins. */
  toName: string | null;
  /** When this dose began to hold. */
  sinceMs: number;
};

export const painChanges = ['better', 'worse', 'no-real-change'] as const;

/** How pain before sessions went, as medians of the first week and of the last one, of 10. */
export type PainCourse = { from: number; to: number; change: (typeof painChanges)[number] };

/** Advice on the newest version of one program. */
export type ProgramAdvice = {
  prescriptionId: string;
  title: string;
  versionNumber: number;
  /** On the program as a whole: `review`, or the gravest of its exercises. */
  whole: Advised;
  exercises: readonly ExerciseAdvice[];
  series: AdviceSeries;
  /** Null as long as there are too few answers. */
  painCourse: PainCourse | null;
};
