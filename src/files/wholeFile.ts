import { randomBytes } from 'node:crypto';
import { closeSync, openSync, renameSync, rmSync } from 'node:fs';
import { type FileHandle, lstat, mkdir, open, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { StillcountError } from '../errors/stillcountError.js';
import { cannotWrite, errorCodeOf } from './fileProblem.js';
import { writeAll } from './writeAll.js';

/** The content of a file: all its bytes, or piece by piece. */
export type FileContent = Uint8Array | string | Iterable<Uint8Array> | AsyncIterable<Uint8Array>;

export type WriteWholeOptions = {
  /** Whether to wait until the bytes are on the disk, so that they survive a power cut. Default true. */
  durable?: boolean;
  /** Stops writing; the earlier file stays. */
  signal?: AbortSignal;
};

const batchBytes = 1 << 20;

const partialPaths = new Set<string>();
process.on('exit', () => {
  for (const partial of partialPaths) rmSync(partial, { force: true });
});

/**
 * Writes a whole file or nothing: the bytes go to a partial file next to it, which is then renamed in one step. If
 * anything goes wrong, an earlier file of that name stays as it was and the partial one is removed, even if the process
 * exits midway. Missing folders are created.
 *
 * @throws StillcountError kind `work` with the path and the cause: disk full, no permission, not a folder. An error
 *   thrown by the content itself, or the signal's own reason, is passed on unchanged.
 */
export async function writeWhole(
  path: string,
  content: FileContent,
  options: WriteWholeOptions = {},
): Promise<void> {
  await writeTogether([{ path, content }], options);
}

/**
 * Writes several files that belong together: none is renamed before all are complete on the disk. Otherwise as {@link
 * writeWhole}.
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
    // Synchronously, so that an interrupt is handled before or after all of them, never between two.
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
  // Created synchronously, because an asynchronous open could still create the file after the exit cleanup.
  closeSync(openSync(partial, 'wx'));
  const file = await open(partial, 'r+');
  try {
    await writePieces(file, content, options.signal);
    if (options.durable) await file.sync();
  } finally {
    await file.close();
  }
}

/** Rejects a folder of that name, which would make the rename fail after earlier files of the set have been renamed. */
async function refuseFolder(path: string): Promise<void> {
  const found = await lstat(path).catch(() => null);
  if (found?.isDirectory() === true) throw Object.assign(new Error('a folder'), { code: 'EISDIR' });
}

/** Turns errors of the file system into plain words; all others are passed on unchanged. */
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

/** Batches small pieces, because each write is a separate system call. */
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

/**
 * Syncs the folder, because the new name has to reach the disk too. Some systems do not support syncing a folder, and
 * do not need it.
 */
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
