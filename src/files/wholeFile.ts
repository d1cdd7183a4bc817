import { randomBytes } from 'node:crypto';
import { closeSync, openSync, renameSync, rmSync } from 'node:fs';
import { type FileHandle, lstat, mkdir, open, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { StillcountError } from '../errors/stillcountError.js';
import { cannotWrite, errorCodeOf } from './fileProblem.js';
import { writeAll } from './writeAll.js';

/** What a file is to hold: its bytes at once, or piece by piece. */
export type FileContent = Uint8Array | string | Iterable<Uint8Array> | AsyncIterable<Uint8Array>;

export type WriteWholeOptions = {
  /** Wait until the bytes are on the disk, so that they outlive a power cut. Default true. */
  durable?: boolean;
  /** Stops the writing; the earlier file stays. */
  signal?: AbortSignal;
};

const batchBytes = 1 << 20;

const partialPaths = new Set<string>();
process.on('exit', () => {
  for (const partial of partialPaths) rmSync(partial, { force: true });
});

/**
 * Writes a whole file or nothing: the bytes go to a partial file beside it, which then takes its name in one
 * step. Whatever goes wrong, an earlier file of that name stays as it was and the partial one is removed, also
 * when the process exits half-way. Missing folders are made.
 *
 * @throws StillcountError kind `work` with the path and the cause: disk full, no permission, not a folder. An
 * error thrown by the content itself, or the signal's own reason, is passed on as it is.
 */
export async function writeWhole(
  path: string,
  content: FileContent,
  options: WriteWholeOptions = {},
): Promise<void> {
  await writeTogether([{ path, content }], options);
}

/**
 * Writes several files that belong together: none takes its name before all are complete on the disk. Otherwise
 * as {@link writeWhole}.
 */
export async function writeTogether(
  files: readonly { path: string; content: FileContent }[],
  options: WriteWholeOptions = {},
): Promise<void> {
  const { durable = true, signal } = options;
  const staged: { path: string; partial: string }[] = [];
  try {
    for (const { path, content } of files) {
      const partial = partialBeside(path);
      staged.push({ path, partial });
      partialPaths.add(partial);
      await explained(path, () => writePartial(path, partial, content, { durable, ...options }));
    }
    signal?.throwIfAborted();
    for (const { path } of staged) await explained(path, () => refuseFolder(path));
    // In one go: an interrupt is heard before or after all of them, never between two.
    for (const { path, partial } of staged) await explained(path, async () => renameSync(partial, path));
    if (durable) await Promise.all([...new Set(staged.map(({ path }) => dirname(path)))].map(syncFolder));
  } finally {
    for (const { partial } of staged) {
      await rm(partial, { force: true }).catch(() => undefined);
      partialPaths.delete(partial);
    }
  }
}

function partialBeside(path: string): string {
  const mark = `${process.pid}-${randomBytes(6).toString('hex')}`;
  return join(dirname(path), `.${basename(path).slice(0, 80)}.${mark}.part`);
}

async function writePartial(
  path: string,
  partial: string,
  content: FileContent,
  options: { durable: boolean; signal?: AbortSignal },
): Promise<void> {
  await mkdir(dirname(path), { recursive: true });
  // Made at once: an opening under way in the background could still make the file after an exit has cleaned up.
  closeSync(openSync(partial, 'wx'));
  const file = await open(partial, 'r+');
  try {
    await writePieces(file, content, options.signal);
    if (options.durable) await file.sync();
  } finally {
    await file.close();
  }
}

/** A folder of that name would stop the rename, when earlier files of the set have already taken theirs. */
async function refuseFolder(path: string): Promise<void> {
  const found = await lstat(path).catch(() => null);
  if (found?.isDirectory() === true) throw Object.assign(new Error('a folder'), { code: 'EISDIR' });
}

/** Errors of the file system in plain words; all others as they are. */
async function explained(path: string, work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (error instanceof StillcountError || errorCodeOf(error) === undefined) throw error;
    throw cannotWrite(path, error);
  }
}

async function writePieces(file: FileHandle, content: FileContent, signal?: AbortSignal): Promise<void> {
  if (typeof content === 'string' || content instanceof Uint8Array) {
    signal?.throwIfAborted();
    await file.writeFile(content);
    return;
  }
  for await (const batch of inBatches(content)) {
    signal?.throwIfAborted();
    await writeAll(file, batch);
  }
}

/** Small pieces are written together: each writing takes its own turn through the system. */
async function* inBatches(
  pieces: Iterable<Uint8Array> | AsyncIterable<Uint8Array>,
): AsyncIterable<Uint8Array[]> {
  let waiting: Uint8Array[] = [];
  let waitingBytes = 0;
  for await (const piece of pieces) {
    waiting.push(piece);
    waitingBytes += piece.length;
    if (waitingBytes < batchBytes) continue;
    yield waiting;
    waiting = [];
    waitingBytes = 0;
  }
  yield waiting;
}

/** The new name itself must reach the disk too; some systems do not let a folder be synced, and need not. */
async function syncFolder(folder: string): Promise<void> {
  try {
    const handle = await open(folder, 'r');
    try {
      await handle.sync();
    } finally {
      await handle.close();
    }
  } catch {
    return;
  }
}
