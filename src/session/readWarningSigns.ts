import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { workError } from '../errors/stillcountError.js';
import { parseWarningSigns, type WarningSigns } from '../followup/warningSigns.js';

/**
 * Reads the warning signs from which a listener chooses.
 *
 * @param folder the audio-templates folder
 * @throws StillcountError kind `work` when they cannot be read, kind `input` when they are wrong
 */
export async function readWarningSigns(folder: string): Promise<WarningSigns> {
  const file = join(folder, 'en', 'warning-signs.yaml');
  let text: string;
  try {
    text = await readFile(file, 'utf8');
  } catch (cause) {
    throw workError({ file, message: 'the warning signs cannot be read' }, cause);
  }
  return parseWarningSigns(text, file);
}
