import { workError } from '../errors/stillcountError.js';
import { crc16, joinCrc16 } from './crc16.js';
import { silentFrame } from './mp3Frame.js';
import type { SessionPlan } from './planSegments.js';
import { seekHeader } from './seekHeader.js';
import type { EncodedSegment } from './segmentStore.js';

/**
 * A piece of the file: the frames of a segment, or the tag and seek header at the front. Silence has no bytes of its
 * own.
 */
type Piece = {
  startByte: number;
  lengthBytes: number;
  /** Its first frame of sound; the piece at the front of the file has none. */
  firstFrame: number;
  bytes: Buffer | 'silence';
  /** Where each frame of `bytes` starts, for those frames that the session uses. */
  frameStarts?: Uint32Array;
};

/** Silence to copy from; a piece of silence is any run of it that starts at a whole frame. */
const silence = Buffer.concat(Array.from({ length: 1024 }, () => silentFrame));

/**
 * The MP3 file of a session, assembled while it is read: any byte range can be requested, and none is stored. Only the
 * distinct segments are held in memory.
 */
export class SessionAudio {
  readonly byteLength: number;
  readonly durationMs: number;
  readonly #pieces: readonly Piece[];

  /**
   * @param tag bytes before the sound, such as an ID3v2 tag; may be empty
   * @param encoded every segment of the plan, by key
   */
  constructor(plan: SessionPlan, encoded: ReadonlyMap<string, EncodedSegment>, tag: Uint8Array) {
    const sound = layOut(plan, encoded);
    const front = Buffer.concat([
      tag,
      seekHeader({
        frameCount: plan.frameCount,
        byteCount: sound.byteCount,
        endPaddingSamples: plan.endPaddingSamples,
        framesCrc16: sound.crc16,
        byteOfFrame: (frame) => byteOfFrame(sound.pieces, frame),
      }),
    ]);
    for (const piece of sound.pieces) piece.startByte += front.length;
    this.#pieces = [
      { startByte: 0, lengthBytes: front.length, firstFrame: 0, bytes: front },
      ...sound.pieces,
    ];
    this.byteLength = front.length + sound.byteCount;
    this.durationMs = plan.durationMs;
  }

  /**
   * Rule RANGE-1: returns the file's bytes from `start` up to, but not including, `endExclusive`; both are clamped to
   * the file.
   */
  read(start: number, endExclusive: number): Buffer {
    const from = Math.max(0, Math.min(start, this.byteLength));
    const result = Buffer.allocUnsafe(Math.max(0, Math.min(endExclusive, this.byteLength) - from));
    let filled = 0;
    for (const chunk of this.chunks(from, from + result.length)) filled += chunk.copy(result, filled);
    return result;
  }

  /**
   * Yields the same bytes in chunks, so that a file of any length can be written without being built in memory first.
   * The chunks are views of shared memory: read them, never write to them.
   */
  *chunks(start = 0, endExclusive = this.byteLength): Iterable<Buffer> {
    const end = Math.min(endExclusive, this.byteLength);
    let at = Math.max(0, start);
    for (let index = lastStartingBefore(this.#pieces, 'startByte', at); at < end; index += 1) {
      const piece = this.#pieces[index];
      if (piece === undefined) return;
      const pieceEnd = Math.min(end, piece.startByte + piece.lengthBytes);
      while (at < pieceEnd) {
        const chunk = part(piece, at - piece.startByte, pieceEnd - piece.startByte);
        yield chunk;
        at += chunk.length;
      }
    }
  }
}

/** Returns a part of a piece, at least one byte and not always all of the requested ones. */
function part(piece: Piece, from: number, to: number): Buffer {
  if (piece.bytes !== 'silence') return piece.bytes.subarray(from, to);
  const phase = from % silentFrame.length;
  return silence.subarray(phase, Math.min(silence.length, phase + to - from));
}

/**
 * Rule A1: whole frames only. Lays out the pieces of sound and silence in order, starting at byte 0, with the checksum
 * of all of them.
 */
function layOut(
  plan: SessionPlan,
  encoded: ReadonlyMap<string, EncodedSegment>,
): { pieces: Piece[]; byteCount: number; crc16: number } {
  const pieces: Piece[] = [];
  let startByte = 0;
  let frame = 0;
  let crc = 0;
  const add = (piece: Omit<Piece, 'startByte' | 'firstFrame'>, frameCount: number, pieceCrc16: number) => {
    pieces.push({ ...piece, startByte, firstFrame: frame });
    startByte += piece.lengthBytes;
    frame += frameCount;
    crc = joinCrc16(crc, pieceCrc16, piece.lengthBytes);
  };
  const addSilenceUpTo = (endFrame: number) => {
    const frameCount = endFrame - frame;
    if (frameCount <= 0) return;
    const lengthBytes = frameCount * silentFrame.length;
    add({ lengthBytes, bytes: 'silence' }, frameCount, silenceCrc16(frameCount));
  };
  for (const segment of plan.segments) {
    const made = encoded.get(segment.key);
    if (made === undefined)
      throw workError({ message: 'a session was put together before all its sound was encoded' });
    addSilenceUpTo(segment.firstFrame);
    // Guard frames that would fall before the start or after the end of the session are left out.
    const cutBefore = Math.max(0, -segment.firstFrame);
    const cutAfter = Math.max(0, segment.firstFrame + segment.frameCount - plan.frameCount);
    const used = made.frameStarts.subarray(cutBefore, made.frameStarts.length - cutAfter);
    const bytes = made.frames.subarray(used[0], used[used.length - 1]);
    const whole = cutBefore === 0 && cutAfter === 0;
    add(
      { lengthBytes: bytes.length, bytes, frameStarts: used },
      used.length - 1,
      whole ? made.crc16 : crc16(bytes),
    );
  }
  addSilenceUpTo(plan.frameCount);
  return { pieces, byteCount: startByte, crc16: crc };
}

const silenceCrcs = new Map<number, number>();

/** Returns the checksum of a run of silent frames, computed by halving the run. */
function silenceCrc16(frameCount: number): number {
  const known = silenceCrcs.get(frameCount);
  if (known !== undefined) return known;
  const rest = Math.floor(frameCount / 2);
  const crc =
    frameCount === 1
      ? crc16(silentFrame)
      : joinCrc16(silenceCrc16(frameCount - rest), silenceCrc16(rest), rest * silentFrame.length);
  if (silenceCrcs.size < 4096) silenceCrcs.set(frameCount, crc);
  return crc;
}

function byteOfFrame(pieces: readonly Piece[], frame: number): number {
  const piece = pieces[lastStartingBefore(pieces, 'firstFrame', frame)];
  if (piece === undefined) return 0;
  const inside = frame - piece.firstFrame;
  if (piece.frameStarts === undefined) return piece.startByte + inside * silentFrame.length;
  return piece.startByte + (piece.frameStarts[inside] ?? 0) - (piece.frameStarts[0] ?? 0);
}

/** Returns the index of the last piece that starts at or before `position`. */
function lastStartingBefore(
  pieces: readonly Piece[],
  field: 'startByte' | 'firstFrame',
  position: number,
): number {
  let low = 0;
  let high = pieces.length - 1;
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if ((pieces[middle]?.[field] ?? 0) <= position) low = middle;
    else high = middle - 1;
  }
  return low;
}
