import { z } from 'zod';
import { doseOverrideSchema } from './schema.js';
import { setUpDifferenceSchema } from './setUp.js';
import { phraseSchema } from './wording.js';

/** What every session has beside its exercises, and rules meet like one: the way down onto the bed and up again. */
export const lyingDownAndGettingUpId = 'lying-down-and-getting-up';

/**
 * Dose numbers that may have a ceiling: less of each is less work. A shorter rest would make the work denser, and a
 * shorter lift or lowering would make it quicker, so that those have none.
 */
const ceilingsSchema = doseOverrideSchema.pick({
  durationSeconds: true,
  sets: true,
  reps: true,
  holdSeconds: true,
});

/**
 * What a spoken sentence is, which decides what is said first where there is no room for all: `limit`, something of
 * this person's that the exercise alone would ask for wrongly; `stop`, a sign and what to do about it; `manner`, how it
 * is done, which the words of the exercise say much like.
 */
const spokenAsSchema = z.enum(['limit', 'stop', 'manner']);
export type SpokenAs = z.infer<typeof spokenAsSchema>;

const common = {
  /** Largest dose numbers; a dose above one is brought down to it, never below the limits of the exercise. */
  atMost: ceilingsSchema.optional(),
  /** Where the person lies otherwise than the program says. */
  setUp: setUpDifferenceSchema.optional(),
  /** Printed on the handout under each exercise that it meets; once above them where it meets all. */
  print: z.string().trim().min(1),
  /** Tags of spoken lines that are left out. */
  leaveOut: z.array(z.string().regex(/^[a-z][a-z0-9-]*$/)).default([]),
  /** What kind of sentence `say` is. */
  sayAs: spokenAsSchema.default('limit'),
};

/**
 * What a precaution's "done this way" changes in the exercises that it meets, as data: a dose ceiling, another
 * position or prop, a sentence before the exercise, wording that is left out, a line on the handout.
 */
export const adaptationSchema = z
  .strictObject({
    ...common,
    /** Said before each exercise that it meets, in every session; at most two are said before one exercise. */
    say: phraseSchema.optional(),
  })
  .describe('How a precaution changes the exercises that it meets.');
export type Adaptation = z.infer<typeof adaptationSchema>;

/** The same as it is kept with a signed version; reading what was kept gives it back unchanged. */
export const keptAdaptationSchema = z.strictObject({
  ...common,
  say: z.strictObject({ full: z.string().min(1), short: z.string().min(1).nullable() }).optional(),
});
