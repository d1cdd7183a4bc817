import { z } from 'zod';
import { dayMs } from '../time/units.js';

/**
 * What a phone tells the service about listening, kept on the phone until the service has it. Every item has an id
 * that the phone makes up, so that sending it twice keeps it once. Instants are those of the phone's own clock.
 */

const id = z.uuid();
/** A session's place in the program: the day in the patient's zone and which of that day's sessions, from 1; there
 * are more than three when their times are changed in the course of a day. */
export const slotSchema = z
  .string()
  .regex(/^\d{4}-\d\d-\d\d#[1-9]\d?$/, { error: 'a day and a number such as 2026-11-25#1' })
  .refine((slot) => z.iso.date().safeParse(slot.slice(0, 10)).success, { error: 'a date that exists' });
const positionMs = z.int().min(0).max(dayMs);
const atMs = z.int().min(0).max(8.64e15);
const scale = z.int().min(0).max(10);
const signs = z.array(z.string().regex(/^[a-z][a-z0-9-]{0,60}$/)).max(30);

/** Which session of which version; a session of a version that ran out meanwhile is told all the same. */
const session = {
  patientId: id,
  prescriptionId: id,
  versionNumber: z.int().min(1).max(1_000_000),
  sessionNumber: z.int().min(1).max(1_000_000),
  slot: slotSchema,
};

/** What a listener may choose on a hard day in place of the whole session, where the clinician allows it. */
export const easierChoices = ['shorter', 'lighter'] as const;
export type EasierChoice = (typeof easierChoices)[number];
/** Left out for the whole session. */
const choice = z.enum(easierChoices).optional();

export const listeningSteps = ['started', 'paused', 'resumed', 'reached', 'finished', 'stopped'] as const;
export type ListeningStep = (typeof listeningSteps)[number];

/** A moment of one listening; `reached` says how far it has come while it goes on. */
const stepItem = z.strictObject({
  kind: z.literal('step'),
  id,
  /** Names one listening, from `started` to its end; made up by the phone. */
  listeningId: id,
  ...session,
  choice,
  step: z.enum(listeningSteps),
  positionMs,
  atMs,
});

export const notTodayReasons = ['unwell', 'pain', 'no-time', 'away', 'not-wanted', 'other'] as const;
/** Reasons that hold for the rest of a day, and that a clinician has to hear of when they come again and again. */
const unwellReasons = ['unwell', 'pain'] as const satisfies readonly (typeof notTodayReasons)[number][];
export type NotTodayReason = (typeof notTodayReasons)[number];

export function isUnwell(reason: NotTodayReason): boolean {
  return unwellReasons.some((each) => each === reason);
}

const notTodayItem = z.strictObject({
  kind: z.literal('not-today'),
  id,
  ...session,
  reason: z.enum(notTodayReasons),
  atMs,
});

export const amountsDone = ['all', 'most', 'some', 'none'] as const;

/** Null is an answer that was skipped; one that was never asked, because the page was left, is missing. */
export const checkInAnswersSchema = z.strictObject({
  done: z.enum(amountsDone).nullable().optional(),
  painBefore: scale.nullable().optional(),
  painAfter: scale.nullable().optional(),
  effort: scale.nullable().optional(),
  signs: signs.nullable().optional(),
  note: z.string().max(2_000).nullable().optional(),
});
export type CheckInAnswers = z.infer<typeof checkInAnswersSchema>;

const checkInItem = z.strictObject({
  kind: z.literal('check-in'),
  id,
  listeningId: id,
  ...session,
  choice,
  answers: checkInAnswersSchema,
  atMs,
});

/** Told at once, whether or not a check-in follows. `signs` is empty when it was only "something is wrong". */
const warningItem = z.strictObject({
  kind: z.literal('warning'),
  id,
  listeningId: id.nullable(),
  ...session,
  signs,
  positionMs: positionMs.nullable(),
  atMs,
});

export const reportItemSchema = z.discriminatedUnion('kind', [
  stepItem,
  notTodayItem,
  checkInItem,
  warningItem,
]);
export type ReportItem = z.infer<typeof reportItemSchema>;

export const mostItemsAtOnce = 100;

/** `items` in the order in which they happened. Items are checked one by one, so that a bad one holds up no other. */
export const reportSchema = z.strictObject({
  /** The phone's clock at the moment of sending: what it is wrong by is taken off every instant. */
  sentAtMs: atMs,
  items: z.array(z.unknown()).min(1).max(mostItemsAtOnce),
});
export type Report = { sentAtMs: number; items: ReportItem[] };

/** What the phone may forget: the ids that are kept, now or earlier, and the places of items that never will be. */
export type ReportAnswer = {
  keptIds: string[];
  /** Places in `items`, from 0, and why. */
  refused: { index: number; why: string }[];
};
