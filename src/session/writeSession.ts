import { join } from 'node:path';
import { captionsOf } from '../audio/captions.js';
import type { SessionAudio } from '../audio/sessionAudio.js';
import { transcriptOf } from '../audio/transcript.js';
import { type WriteWholeOptions, writeTogether } from '../files/wholeFile.js';
import type { TimedScript } from '../script/timedScript.js';

export const sessionFileNames = ['session.mp3', 'session.vtt', 'session.script.json', 'session.txt'] as const;
export type SessionFileName = (typeof sessionFileNames)[number];

type SessionContent = { script: TimedScript; audio: SessionAudio };

/**
 * Writes session.mp3, session.vtt, session.script.json and session.txt. All four or none: an earlier session in the
 * folder stays until the new one is complete.
 *
 * @returns the four paths
 * @throws StillcountError kind `work` naming the file that could not be written and why
 */
export async function writeSession(
  session: SessionContent,
  folder: string,
  options: WriteWholeOptions = {},
): Promise<string[]> {
  const files = sessionFileNames.map((name) => ({
    path: join(folder, name),
    content: contentOf(session, name),
  }));
  await writeTogether(files, options);
  return files.map(({ path }) => path);
}

/** Yields the contents of a session's file, piece by piece. */
export function contentOf({ script, audio }: SessionContent, name: SessionFileName): Iterable<Uint8Array> {
  if (name === 'session.mp3') return audio.chunks();
  return [Buffer.from(textOf(script, name))];
}

function textOf(script: TimedScript, name: Exclude<SessionFileName, 'session.mp3'>): string {
  if (name === 'session.vtt') return captionsOf(script);
  if (name === 'session.txt') return transcriptOf(script);
  return `${JSON.stringify(script, null, 2)}\n`;
}
