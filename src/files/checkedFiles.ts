import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import { LRUCache } from 'lru-cache';
import { dayMs } from '../time/units.js';

/** The expected length and hash of a file. */
export type FileSum = { bytes: number; sha256: string };

/** An open file with the expected content. The caller closes it. */
export type CheckedFile = FileSum & { handle: FileHandle };

const mostRemembered = 50_000;
/** A disk can corrupt data silently, so a file that was right is checked again after a day. */
const trustedMs = dayMs;
const partBytes = 1 << 20;

/**
 * Opens files only if they have the expected content. The length is checked each time. All bytes are hashed the first
 * time, after a day, and whenever the file has changed since then, as far as the system records it.
 */
export class CheckedFiles {
  readonly #trusted = new LRUCache<string, string>({ max: mostRemembered, ttl: trustedMs });

  /**
   * Opens a file. The handle reads the content that was checked, even if another file takes its name in the meantime.
   *
   * @returns null when it is missing, cannot be read, or has any other content
   */
  async open(path: string, sum: FileSum): Promise<CheckedFile | null> {
    const handle = await open(path, 'r').catch(() => null);
    if (handle === null) return null;
    if (await this.#holds(path, handle, sum).catch(() => false)) return { ...sum, handle };
    this.#trusted.delete(path);
    await handle.close();
    return null;
  }

  /** Reads a file, or returns null; as {@link open}. */
  async read(path: string, sum: FileSum): Promise<Buffer | null> {
    const file = await this.open(path, sum);
    if (file === null) return null;
    try {
      const bytes = await file.handle.readFile();
      return bytes.length === sum.bytes ? bytes : null;
    } catch {
      return null;
    } finally {
      await file.handle.close();
    }
  }

  async #holds(path: string, handle: FileHandle, { bytes, sha256 }: FileSum): Promise<boolean> {
    const before = await fingerprintOf(handle);
    if (before.bytes !== BigInt(bytes)) return false;
    const seen = `${sha256} ${before.print}`;
    if (this.#trusted.get(path) === seen) return true;
    if ((await hashOf(handle, bytes)) !== sha256) return false;
    // If it changed while it was being read, its content is unknown.
    if ((await fingerprintOf(handle)).print !== before.print) return false;
    this.#trusted.set(path, seen);
    return true;
  }
}

/** Identifies a file and its last change. Nobody can set the time of the change itself (ctime). */
async function fingerprintOf(handle: FileHandle): Promise<{ bytes: bigint; print: string }> {
  const found = await handle.stat({ bigint: true });
  if (!found.isFile()) throw new RangeError('no file');
  const { dev, ino, size, mtimeNs, ctimeNs } = found;
  return { bytes: size, print: [dev, ino, size, mtimeNs, ctimeNs].join(' ') };
}

async function hashOf(handle: FileHandle, bytes: number): Promise<string> {
  const hash = createHash('sha256');
  const part = Buffer.allocUnsafe(Math.min(partBytes, Math.max(1, bytes)));
  for (let at = 0; at < bytes; ) {
    const { bytesRead } = await handle.read(part, 0, part.length, at);
    if (bytesRead === 0) break;
    hash.update(part.subarray(0, bytesRead));
    at += bytesRead;
  }
  return hash.digest('hex');
}
