import { fillLine, type PaperTexts } from './filled.js';
import type { Block, PageSize, Paper } from './pdf/paper.js';

/** Returns a document of these blocks, with the parts that all documents of a language share. */
export function paperOf(
  texts: PaperTexts,
  {
    blocks,
    ...about
  }: Pick<Paper, 'title' | 'letterPoints' | 'marginPoints' | 'madeAtMs'> & {
    blocks: readonly Block[];
    pageSize: PageSize;
  },
): Paper {
  return {
    ...about,
    language: 'en',
    blocks,
    foot: (page, pages) => fillLine(texts, 'foot', { title: about.title, page, pages }),
    lettersMissing: fillLine(texts, 'letters-missing', {}),
  };
}

/** Zones of countries that print on US Letter: those of North America, with Colombia, Chile and Venezuela. */
const letterZones =
  /^(US\/|Canada\/|America\/(?!Sao_Paulo|Argentina\/|Buenos_Aires|Lima|La_Paz|Montevideo|Asuncion|Guayaquil|Bahia|Fortaleza|Recife|Manaus|Belem)|Pacific\/Honolulu|Asia\/Manila)/;

/** Returns the usual paper size where a clinic is: Letter where the Unicode CLDR has it, A4 elsewhere. */
export function pageSizeIn(zone: string): PageSize {
  return letterZones.test(zone) ? 'letter' : 'a4';
}
