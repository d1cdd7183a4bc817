import { join } from 'node:path';
import { captionsOf } from '../audio/captions.js';
import { transcriptOf } from '../audio/transcript.js';
import { writeTogether } from '../files/wholeFile.js';
import type { MadeSession } from './makeSession.js';

/**
 * Writes session.mp3, session.vtt, session.script.json and session.txt. All four or none: an earlier session in
 * the folder stays until the new one is complete.
 *
 * @returns the four paths
 * @throws StillcountError kind `work` naming the file that could not be written and why
 */
export async function writeSession({ script, audio }: MadeSession, folder: string): Promise<string[]> {
  const files = [
    { path: join(folder, 'session.mp3'), content: audio.chunks() },
    { path: join(folder, 'session.vtt'), content: captionsOf(script) },
    { path: join(folder, 'session.script.json'), content: `${JSON.stringify(script, null, 2)}\n` },
    { path: join(folder, 'session.txt'), content: transcriptOf(script) },
  ];
  await writeTogether(files);
  return files.map(({ path }) => path);
}
