import { z } from 'zod';
import { changeKinds } from './changeKinds.js';
import { linesSchema, wordingSchema } from './wording.js';

/**
 * The changes of posture that the session itself guides, by name. `side` is the leg that is straight after the change;
 * for {@link bendingBothFromOne} and {@link straighteningBothFromOne}, the leg that was straight before it.
 */
export const changeNames = [
  /** From standing beside the bed, via the edge and the side, onto the back with the knees bent. */
  'lyingDown',
  /** From standing to sitting on the edge. */
  'sittingDown',
  /** From the edge onto the side. */
  'loweringToSide',
  'rollingToSide',
  'rollingToBack',
  'bendingKnees',
  'straighteningLegs',
  /** From both knees bent: one leg slides out straight. */
  'straighteningOneLeg',
  /** From both legs straight: the other knee bends. */
  'bendingOneKnee',
  /** The straight leg bends too. */
  'bendingBothFromOne',
  /** The bent leg straightens too. */
  'straighteningBothFromOne',
  /** One leg straight, then the other. */
  'changingLegs',
  'placingKneePillow',
  'removingKneePillow',
] as const;
export type ChangeName = (typeof changeNames)[number];

const changeLinesSchema = linesSchema
  .min(1)
  .refine((lines) => lines.every(({ takes }) => takes !== undefined), {
    message: 'each line of a change says which time it takes',
  });

function recordOf<Key extends string, Value extends z.ZodType>(keys: readonly Key[], value: Value) {
  return z.strictObject(Object.fromEntries(keys.map((key) => [key, value])) as Record<Key, Value>);
}

/** Section `changes` of phrases.yaml: the wording that guides the listener from one posture to the next. */
export const changeWordsSchema = z.strictObject({
  ...recordOf(changeNames, changeLinesSchema).shape,
  /** Said once, when the listener first lies on the back: head support, phone. */
  settling: linesSchema,
  /** Said in the middle of a long wait. */
  takeYourTime: wordingSchema,
  /** The pillow under the knees as a `thing` to get ready, if a posture in the session needs one. */
  kneePillow: z.string().min(1),
  /** The name of each kind of change in adjustments, for the clinician (not spoken). */
  kinds: recordOf(changeKinds, z.string().min(1)),
});
