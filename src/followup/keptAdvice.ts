import { z } from 'zod';
import { adviceKinds } from './adviceParts.js';

/** The part of stored advice that is read; older advice may lack some of it. */
const keptSchema = z.looseObject({
  key: z.string().default(''),
  kind: z.enum(adviceKinds).nullable().catch(null),
  exerciseId: z.string().default(''),
});
export type KeptAdvice = z.infer<typeof keptSchema>;

/** Reads answered advice from its stored JSON. */
export function readKeptAdvice(json: string): KeptAdvice {
  return keptSchema.parse(JSON.parse(json));
}
