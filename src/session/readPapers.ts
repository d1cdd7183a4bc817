import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { PaperTexts } from '../documents/filled.js';
import { workError } from '../errors/stillcountError.js';

/**
 * Reads the texts of the documents, in the language of the clinic.
 *
 * @param folder the audio-templates folder
 * @throws StillcountError kind `work` when they cannot be read
 */
export async function readPapers(folder: string): Promise<PaperTexts> {
  const papers = join(folder, 'en', 'papers');
  try {
    const names = (await readdir(papers)).filter((name) => name.endsWith('.mustache'));
    const texts = await Promise.all(
      names.map(
        async (name) =>
          [name.replace(/\.mustache$/, ''), await readFile(join(papers, name), 'utf8')] as const,
      ),
    );
    return Object.fromEntries(texts);
  } catch (cause) {
    throw workError({ file: papers, message: 'the document templates cannot be read' }, cause);
  }
}
