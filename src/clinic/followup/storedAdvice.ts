import { z } from 'zod';
import { adviceKinds } from '../../followup/adviceParts.js';
import type { Resources } from '../resources/resources.js';
import { clinicCatalogue } from '../screening/findings.js';

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

/** What kept advice was and what it was about, in words; an exercise of an older catalogue stands with its id. */
export function keptAdviceInWords(
  { kind, exerciseId }: KeptAdvice,
  { words, workshop }: Pick<Resources, 'workshop' | 'words'>,
): { kind: string; about: string } {
  return {
    kind: kind === null ? '' : words.advice.kinds[kind],
    about:
      clinicCatalogue(workshop).exercises.get(exerciseId)?.name ?? (exerciseId || words.advice.wholeProgram),
  };
}
