import { createHash } from 'node:crypto';
import { lstat, readFile, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import type { SessionAudio } from '../audio/sessionAudio.js';
import type { FileSum } from '../files/checkedFiles.js';
import { writeTogether } from '../files/wholeFile.js';
import type { TimedScript } from '../script/timedScript.js';
import { contentOf, type SessionFileName, sessionFileNames } from './writeSession.js';

/** The file next to a session's files that holds the length and hash of each. */
const sumsName = 'session.sums.json';

const sumSchema = z.strictObject({ bytes: z.int().min(1), sha256: z.string().regex(/^[0-9a-f]{64}$/) });
const sumsSchema = z.strictObject({
  format: z.literal('stillcount-sums/1'),
  /** Key of the session they belong to, because intact files of another session are not a session of this one. */
  key: z.string(),
  files: z.record(z.enum(sessionFileNames), sumSchema),
});

/** The length and hash of each file of a session. */
export type SessionSums = Readonly<Record<SessionFileName, FileSum>>;

/**
 * Writes the files of a session with their sums, replacing anything in the folder: all or none.
 *
 * @param key identifies the session
 * @throws StillcountError kind `work` naming the file that could not be written and why
 */
export async function storeSession(
  session: { script: TimedScript; audio: SessionAudio },
  folder: string,
  key: string,
): Promise<SessionSums> {
  await clearWay(folder);
  const sums = new Map<string, FileSum>();
  const files = sessionFileNames.map((name) => ({
    path: join(folder, name),
    content: summed(contentOf(session, name), (sum) => sums.set(name, sum)),
  }));
  // Written last, because the other files are hashed while they are written.
  const sumsFile = { path: join(folder, sumsName), content: lastly(() => sumsOf(sums, key).text) };
  await writeTogether([...files, sumsFile], { durable: false });
  return sumsOf(sums, key).sums;
}

/** Reads the sums in a folder; null when there are no valid ones for this session. */
export async function readSums(folder: string, key: string): Promise<SessionSums | null> {
  const text = await readFile(join(folder, sumsName), 'utf8').catch(() => null);
  if (text === null) return null;
  try {
    const sums = sumsSchema.parse(JSON.parse(text));
    return sums.key === key ? sums.files : null;
  } catch {
    return null;
  }
}

/** Returns whether all files exist with the right lengths. */
export async function haveLengths(folder: string, sums: SessionSums): Promise<boolean> {
  const found = await Promise.all(
    sessionFileNames.map(async (name) => {
      const file = await stat(join(folder, name)).catch(() => null);
      return file?.isFile() === true && file.size === sums[name].bytes;
    }),
  );
  return found.every((isRight) => isRight);
}

function sumsOf(sums: ReadonlyMap<string, FileSum>, key: string): { sums: SessionSums; text: string } {
  const content = { format: 'stillcount-sums/1', key, files: Object.fromEntries(sums) };
  return { sums: sumsSchema.parse(content).files, text: `${JSON.stringify(content, null, 2)}\n` };
}

function* summed(content: Iterable<Uint8Array>, tell: (sum: FileSum) => void): Iterable<Uint8Array> {
  const hash = createHash('sha256');
  let bytes = 0;
  for (const piece of content) {
    hash.update(piece);
    bytes += piece.length;
    yield piece;
  }
  tell({ bytes, sha256: hash.digest('hex') });
}

function* lastly(text: () => string): Iterable<Uint8Array> {
  yield Buffer.from(text());
}

/** Removes whatever a rename cannot replace: a file in the place of the folder, or a folder in the place of a file. */
async function clearWay(folder: string): Promise<void> {
  const isFile = async (path: string) => (await lstat(path).catch(() => null))?.isDirectory() === false;
  const isFolder = async (path: string) => (await lstat(path).catch(() => null))?.isDirectory() === true;
  if (await isFile(folder)) await rm(folder, { force: true });
  for (const path of [...sessionFileNames, sumsName].map((name) => join(folder, name))) {
    if (await isFolder(path)) await rm(path, { recursive: true, force: true });
  }
}
