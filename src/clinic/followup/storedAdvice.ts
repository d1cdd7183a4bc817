import type { KeptAdvice } from '../../followup/keptAdvice.js';
import { clinicCatalogue } from '../../prescription/programFindings.js';
import type { Resources } from '../resources/resources.js';

/** What stored advice was about, in words; an exercise from an older catalogue appears as its id. */
export function describeStoredAdvice(
  { kind, exerciseId }: KeptAdvice,
  { words, workshop }: Pick<Resources, 'workshop' | 'words'>,
): { kind: string; about: string } {
  return {
    kind: kind === null ? '' : words.advice.kinds[kind],
    about:
      clinicCatalogue(workshop).exercises.get(exerciseId)?.name ?? (exerciseId || words.advice.wholeProgram),
  };
}
