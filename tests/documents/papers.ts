import { readPrescription } from '../../src/prescription/content.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readWarningSigns } from '../../src/session/readClinicWords.js';
import { readFonts } from '../../src/session/readFonts.js';
import { readPapers } from '../../src/session/readPapers.js';
import { openWords } from '../../src/text/words.js';

/** What papers are made of, as the service reads it. */
export const catalogues = await readCatalogues('audio-templates');
export const catalogue = catalogues.get('en');
export const texts = await readPapers('audio-templates');
export const letters = await readFonts();
export const warningSigns = await readWarningSigns('audio-templates');
export const words = await openWords();

/** A prescription of the first so many exercises of the catalogue, with their usual doses. */
export function prescriptionOf(count: number, more: object = {}) {
  const exercises = [...(catalogue?.exercises.values() ?? [])]
    .filter(({ path }) => path.from.position === 'supine' && path.to === undefined)
    .slice(0, count)
    .map(({ id, sidedness }) => ({ exercise: id, ...(sidedness === 'one-side' ? { side: 'both' } : {}) }));
  const program = { format: 'stillcount-program/1', title: 'Mornings', exercises };
  return readPrescription({ format: 'stillcount-prescription/1', ...more, program }, 'a test', catalogues);
}
