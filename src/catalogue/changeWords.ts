import { z } from 'zod';
import { changeKinds } from './changeKinds.js';
import { linesSchema, wordingSchema } from './wording.js';

/**
 * The changes of posture that the session itself leads, by name. `side` is the leg that lies straight once the
 * change is done; for {@link bendingBothFromOne} and {@link straighteningBothFromOne} the one that did before it.
 */
export const changeNames = [
  /** From standing beside the bed, by way of the edge and the side, onto the back with the knees bent. */
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

/** Section `changes` of phrases.yaml: what the session says to lead from one posture to the next. */
export const changeWordsSchema = z.strictObject({
  ...recordOf(changeNames, changeLinesSchema).shape,
  /** Said once, when the listener first lies on the back: head support, phone. */
  settling: linesSchema,
  /** In the middle of a long wait. */
  takeYourTime: wordingSchema,
  /** The pillow under the knees as a `thing` to lay out, where a posture of the session needs one. */
  kneePillow: z.string().min(1),
  /** Each kind of change in words that a clinician reads in an adjustment (not heard). */
  kinds: recordOf(changeKinds, z.string().min(1)),
});
