import { z } from 'zod';
import { adviceKinds } from './adviceParts.js';

/** What is read of advice that was kept as it was shown; an older one may lack some of it. */
const keptSchema = z.looseObject({
  key: z.string().default(''),
  kind: z.enum(adviceKinds).nullable().catch(null),
  exerciseId: z.string().default(''),
});
export type KeptAdvice = z.infer<typeof keptSchema>;

/** Reads advice that was answered, from the JSON in which it is kept. */
export function readKeptAdvice(json: string): KeptAdvice {
  return keptSchema.parse(JSON.parse(json));
}
