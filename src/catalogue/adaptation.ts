import { z } from 'zod';
import { doseOverrideSchema, phraseSchema } from './schema.js';
import { setUpSchema } from './setUp.js';

/**
 * What a precaution's "done this way" changes in the exercises that it meets, as data: a dose ceiling, another
 * position or prop, a sentence before the exercise, wording that is left out, a line on the handout.
 */
export const adaptationSchema = z
  .strictObject({
    /** Largest dose numbers; a dose above one is brought down to it, never below the limits of the exercise. */
    atMost: doseOverrideSchema.optional(),
    /** Where the person lies otherwise than the program says. */
    setUp: setUpSchema.partial().optional(),
    /** Said before each exercise that it meets, in every session. */
    say: phraseSchema.optional(),
    /** Printed on the handout under each exercise that it meets. */
    print: z.string().trim().min(1),
    /** Tags of spoken lines that are left out. */
    leaveOut: z.array(z.string().regex(/^[a-z][a-z0-9-]*$/)).default([]),
  })
  .describe('How a precaution changes the exercises that it meets.');
export type Adaptation = z.infer<typeof adaptationSchema>;
