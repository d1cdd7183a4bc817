import { join } from 'node:path';
import { captionsOf } from '../audio/captions.js';
import { transcriptOf } from '../audio/transcript.js';
import { type WriteWholeOptions, writeTogether } from '../files/wholeFile.js';
import type { MadeSession } from './makeSession.js';

export const sessionFileNames = ['session.mp3', 'session.vtt', 'session.script.json', 'session.txt'] as const;

/**
 * Writes session.mp3, session.vtt, session.script.json and session.txt. All four or none: an earlier session in
 * the folder stays until the new one is complete.
 *
 * @returns the four paths
 * @throws StillcountError kind `work` naming the file that could not be written and why
 */
export async function writeSession(
  { script, audio }: MadeSession,
  folder: string,
  options: WriteWholeOptions = {},
): Promise<string[]> {
  const contents = {
    'session.mp3': audio.chunks(),
    'session.vtt': captionsOf(script),
    'session.script.json': `${JSON.stringify(script, null, 2)}\n`,
    'session.txt': transcriptOf(script),
  };
  const files = sessionFileNames.map((name) => ({ path: join(folder, name), content: contents[name] }));
  await writeTogether(files, options);
  return files.map(({ path }) => path);
}
