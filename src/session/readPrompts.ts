import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { workError } from '../errors/stillcountError.js';
import { type Prompts, parsePrompts } from '../listening/prompts.js';

/**
 * Reads the sentences that the voice says outside a session.
 *
 * @param folder the audio-templates folder
 * @throws StillcountError kind `work` when they cannot be read, kind `input` when they are wrong
 */
export async function readPrompts(folder: string): Promise<Prompts> {
  const file = join(folder, 'en', 'listening.yaml');
  let text: string;
  try {
    text = await readFile(file, 'utf8');
  } catch (cause) {
    throw workError({ file, message: 'the sentences around a session cannot be read' }, cause);
  }
  return parsePrompts(text, file);
}
