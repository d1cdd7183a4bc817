import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import { LRUCache } from 'lru-cache';
import { dayMs } from '../time/units.js';

/** What a file has to hold. */
export type FileSum = { bytes: number; sha256: string };

/** A file that holds what it has to, open for reading. Close it. */
export type CheckedFile = FileSum & { handle: FileHandle };

const mostRemembered = 50_000;
/** A disk may lose what it holds without a word, so that a file that was right is looked at again after a day. */
const trustedMs = dayMs;
const partBytes = 1 << 20;

/**
 * Opens files only where they hold what they have to. The length is looked at each time; every byte is read the first
 * time, after a day, and whenever the file has changed since, as far as the system notes it.
 */
export class CheckedFiles {
  readonly #trusted = new LRUCache<string, string>({ max: mostRemembered, ttl: trustedMs });

  /**
   * Opens a file. What is read from its handle is what was looked at, also when another file takes its name in the
   * meantime.
   *
   * @returns null when it is not there, cannot be read, or holds anything else
   */
  async open(path: string, sum: FileSum): Promise<CheckedFile | null> {
    const handle = await open(path, 'r').catch(() => null);
    if (handle === null) return null;
    if (await this.#holds(path, handle, sum).catch(() => false)) return { ...sum, handle };
    this.#trusted.delete(path);
    await handle.close();
    return null;
  }

  /** The bytes of a file, or null; as {@link open}. */
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
    // Changed while it was read, it may hold anything.
    if ((await fingerprintOf(handle)).print !== before.print) return false;
    this.#trusted.set(path, seen);
    return true;
  }
}

/** Which file it is, and when it was changed last: the time of the change itself can be set by no one. */
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
