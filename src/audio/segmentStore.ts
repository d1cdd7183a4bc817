import { workError } from '../errors/stillcountError.js';
import type { EncoderTimes } from '../ffmpeg/encoderTimes.js';
import { findFfmpeg } from '../ffmpeg/findFfmpeg.js';
import type { BlobCache } from '../files/blobCache.js';
import { crc16 } from './crc16.js';
import { encodeSegments, encodingVersion } from './encodeSegments.js';
import { walkFrames } from './mp3Frame.js';
import type { Segment } from './planSegments.js';

/** The frames of a segment, ready to be copied into a session. */
export type EncodedSegment = {
  frames: Buffer;
  /** Start of each frame in `frames`, followed by the end of the last one. */
  frameStarts: Uint32Array;
  crc16: number;
};

/** Stores encoded segments by key. Segments on disk are used as they are; missing ones are encoded and stored. */
export class SegmentStore {
  readonly #cache: BlobCache;
  readonly #times: EncoderTimes | undefined;
  /** Number of segments encoded since this store was created. */
  encodedCount = 0;

  /**
   * @param times how long to wait for the encoder; defaults to the usual deadlines
   */
  constructor(cache: BlobCache, times?: EncoderTimes) {
    this.#cache = cache;
    this.#times = times;
  }

  /**
   * Checks that there is a working encoder, before a voice spends minutes speaking for nothing.
   *
   * @throws StillcountError kind `work` when there is no encoder, or it does not answer
   */
  async requireEncoder(): Promise<void> {
    await findFfmpeg(this.#times);
  }

  /**
   * Returns every segment of a session, encoded. All missing or damaged ones go through one encoder process.
   *
   * @returns the encoded segments by `Segment.key`
   * @throws StillcountError kind `work` when the encoder fails or the disk cannot be written to; nothing incomplete is
   *   stored
   */
  async ensure(segments: readonly Segment[]): Promise<ReadonlyMap<string, EncodedSegment>> {
    const encoder = (await findFfmpeg(this.#times)).identity;
    const blobKeyOf = (segment: Segment) => `${encodingVersion} ${encoder} ${segment.key}`;
    const encoded = new Map<string, EncodedSegment>();
    const missing = new Map<string, Segment>();
    for (const segment of segments) {
      if (encoded.has(segment.key) || missing.has(segment.key)) continue;
      const cached = this.#cache.getSync(blobKeyOf(segment));
      const opened =
        cached === null
          ? undefined
          : openSegment(Buffer.from(cached.buffer, cached.byteOffset, cached.length), segment);
      if (opened === undefined) missing.set(segment.key, segment);
      else encoded.set(segment.key, opened);
    }
    const wanted = [...missing.values()];
    const made = await encodeSegments(wanted, { times: this.#times });
    for (const [index, segment] of wanted.entries()) {
      const frames = made[index] ?? Buffer.alloc(0);
      const blob = Buffer.concat([Buffer.alloc(crcBytes), frames]);
      blob.writeUInt16BE(crc16(frames), 0);
      const opened = openSegment(blob, segment);
      if (opened === undefined) throw workError({ message: 'the encoder gave frames that cannot be read' });
      await this.#cache.put(blobKeyOf(segment), blob);
      encoded.set(segment.key, opened);
      this.encodedCount += 1;
    }
    return encoded;
  }
}

/** A stored segment starts with its checksum, which is needed at each use and expensive to recompute. */
const crcBytes = 2;

/** Reads a stored segment; undefined when the blob does not hold this segment's frames. */
function openSegment(blob: Buffer, segment: Segment): EncodedSegment | undefined {
  if (blob.length < crcBytes) return undefined;
  const frames = blob.subarray(crcBytes);
  const { starts, fault } = walkFrames(frames);
  if (fault !== undefined || starts.length !== segment.frameCount + 1) return undefined;
  return { frames, frameStarts: starts, crc16: blob.readUInt16BE(0) };
}
