import { z } from 'zod';
import { programExerciseSchema, programSchema } from './schema.js';

/**
 * Returns the JSON Schema (draft 2020-12) of a program file, for completion and checks in an editor. Limits that depend
 * on the exercise are checked when the program is read.
 *
 * @param exerciseIds every id that a program may name
 */
export function programJsonSchema(exerciseIds: readonly string[]): z.core.JSONSchema.BaseSchema {
  const named = programSchema.extend({
    exercises: z
      .array(programExerciseSchema.extend({ exercise: z.enum(exerciseIds).describe('Catalogue id.') }))
      .min(1)
      .max(40),
  });
  return { ...z.toJSONSchema(named, { io: 'input' }), title: 'Stillcount program' };
}
