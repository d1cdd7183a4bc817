import { z } from 'zod';
import { doseOverrideSchema } from './schema.js';
import { setUpDifferenceSchema } from './setUp.js';
import { phraseSchema } from './wording.js';

/**
 * The part of every session besides its exercises, to which rules also apply: lying down on the bed and getting up
 * again.
 */
export const lyingDownAndGettingUpId = 'lying-down-and-getting-up';

/**
 * Dose numbers that can have a ceiling: less of each is less work. A shorter rest would make the work denser, and a
 * shorter lift or lowering would make it faster, so these have none.
 */
const ceilingsSchema = doseOverrideSchema.pick({
  durationSeconds: true,
  sets: true,
  reps: true,
  holdSeconds: true,
});

/**
 * The kind of a spoken sentence, which decides what is said first if there is no room for everything: `limit`, a
 * restriction of this patient that the exercise alone would ignore; `stop`, a sign and what to do about it; `manner`,
 * how the movement is done, which the exercise's own wording mostly says too.
 */
const spokenAsSchema = z.enum(['limit', 'stop', 'manner']);
export type SpokenAs = z.infer<typeof spokenAsSchema>;

const common = {
  /** Maximum dose numbers; a dose above one is reduced to it, but never below the limits of the exercise. */
  atMost: ceilingsSchema.optional(),
  /** How the patient's position differs from the program's. */
  setUp: setUpDifferenceSchema.optional(),
  /** Printed on the handout under each exercise that it applies to, or once above them if it applies to all. */
  print: z.string().trim().min(1),
  /** Tags of spoken lines to leave out. */
  leaveOut: z.array(z.string().regex(/^[a-z][a-z0-9-]*$/)).default([]),
  /** The kind of sentence in `say`. */
  sayAs: spokenAsSchema.default('limit'),
};

/**
 * The changes that "done this way" makes to the exercises that a precaution applies to, as data: a dose ceiling,
 * another position or prop, a sentence before the exercise, wording that is left out, a line on the handout.
 */
export const adaptationSchema = z
  .strictObject({
    ...common,
    /** Said before each exercise that it applies to, in every session; at most two are said before one exercise. */
    say: phraseSchema.optional(),
  })
  .describe('How a precaution changes the exercises that it meets.');
export type Adaptation = z.infer<typeof adaptationSchema>;

/** The form stored with a signed version; reading the stored data returns it unchanged. */
export const keptAdaptationSchema = z.strictObject({
  ...common,
  say: z.strictObject({ full: z.string().min(1), short: z.string().min(1).nullable() }).optional(),
});
