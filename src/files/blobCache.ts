import { createHash } from 'node:crypto';
import { readFileSync, rmSync } from 'node:fs';
import { readdir, readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { writeWhole } from './wholeFile.js';

/**
 * Layout of an entry, with little-endian integers:
 *
 * | offset | length | content | |---|---|---| | 0 | 8 | magic `STILLBLB` | | 8 | 4 | layout version | | 12 | 4 |
 * payload length in bytes | | 16 | 32 | SHA-256 of the key's own SHA-256 followed by the payload | | 48 | | payload |
 *
 * The checksum includes the key, so that an intact entry under the wrong name is noticed as well.
 */
const magic = Buffer.from('STILLBLB', 'latin1');
const layoutVersion = 1;
const headerLength = 48;

/**
 * A disk cache of bytes under a key that identifies their content. Everything in it can be made again, so an entry that
 * is corrupt, truncated, of another version or under another name counts as missing and is removed. Writers may race:
 * an entry appears whole or not at all, and the same key always means the same bytes.
 */
export class BlobCache {
  /**
   * @param folder the folder for entries; created when the first one is written
   */
  constructor(readonly folder: string) {}

  /** Returns the bytes under a key, or null when there are no valid ones. Never throws. */
  async get(key: string): Promise<Uint8Array | null> {
    const place = this.#place(key);
    const entry = await readFile(place.path).catch(() => null);
    return entry === null ? null : openEntry(entry, place);
  }

  /** Like {@link get}, but synchronous: for many small entries that are needed now. */
  getSync(key: string): Uint8Array | null {
    const place = this.#place(key);
    let entry: Buffer;
    try {
      entry = readFileSync(place.path);
    } catch {
      return null;
    }
    return openEntry(entry, place);
  }

  /** Stores the bytes under a key. @throws StillcountError kind `work` when they cannot be written */
  async put(key: string, bytes: Uint8Array): Promise<void> {
    const place = this.#place(key);
    const header = Buffer.alloc(headerLength);
    magic.copy(header, 0);
    header.writeUInt32LE(layoutVersion, 8);
    header.writeUInt32LE(bytes.byteLength, 12);
    checksum(place.keyHash, bytes).copy(header, 16);
    // Not synced, because an entry damaged by a power cut fails its checksum and is made again.
    const write = () => writeWhole(place.path, Buffer.concat([header, bytes]), { durable: false });
    try {
      await write();
    } catch {
      // Some systems do not replace a file that a concurrent reader holds open; in that case the entry already exists.
      if (this.getSync(key) !== null) return;
      // Whatever is in the way is not an entry; also, the folder may have been cleared during the write.
      await rm(place.path, { recursive: true, force: true }).catch(() => undefined);
      await write();
    }
  }

  /** Removes every entry. Entries written meanwhile either stay or can be made again. */
  async clear(): Promise<void> {
    const names = await readdir(this.folder).catch(() => []);
    for (const name of names.filter((each) => /^[0-9a-f]{2}$/.test(each))) {
      await rm(join(this.folder, name), { recursive: true, force: true });
    }
  }

  #place(key: string): Place {
    const keyHash = createHash('sha256').update(key).digest();
    const name = keyHash.toString('hex');
    return { keyHash, path: join(this.folder, name.slice(0, 2), name.slice(2, 4), name.slice(4)) };
  }
}

type Place = { keyHash: Buffer; path: string };

function openEntry(entry: Buffer, place: Place): Uint8Array | null {
  const payload = entry.subarray(headerLength);
  const sound =
    entry.length >= headerLength &&
    entry.subarray(0, 8).equals(magic) &&
    entry.readUInt32LE(8) === layoutVersion &&
    entry.readUInt32LE(12) === payload.length &&
    entry.subarray(16, headerLength).equals(checksum(place.keyHash, payload));
  if (sound) return payload;
  try {
    rmSync(place.path, { force: true });
  } catch {
    // The cache is read-only: the entry stays, and is ignored each time.
  }
  return null;
}

function checksum(keyHash: Buffer, payload: Uint8Array): Buffer {
  return createHash('sha256').update(keyHash).update(payload).digest();
}
