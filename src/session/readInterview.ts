import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Catalogue } from '../catalogue/catalogue.js';
import { workError } from '../errors/stillcountError.js';
import { type Interview, parseInterview } from '../screening/interview.js';

/**
 * Reads the precaution interview, which is in the language of the clinicians.
 *
 * @param folder the audio-templates folder
 * @throws StillcountError kind `work` when it cannot be read, kind `input` when it is wrong
 */
export async function readInterview(
  folder: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): Promise<Interview> {
  const file = join(folder, 'en', 'precautions.yaml');
  let text: string;
  try {
    text = await readFile(file, 'utf8');
  } catch (cause) {
    throw workError({ file, message: 'the precaution interview cannot be read' }, cause);
  }
  return parseInterview(text, file, new Set(catalogues.get('en')?.exercises.keys()));
}
