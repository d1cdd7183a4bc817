import { crc16 } from '../crc16.js';
import { frameSamples, headerBytes, readFrame, sideInfoBytes, walkFrames } from '../mp3Frame.js';

/** The fields of a file's seek header. */
export type SeekFields = {
  frameCount: number;
  byteCount: number;
  encoderDelaySamples: number;
  endPaddingSamples: number;
  framesCrc16: number;
  /** Whether the fields agree with the checksum that follows them. */
  intact: boolean;
};

/** A file taken apart by this project's own parser. */
export type FileParts = {
  /** Number of frames of sound, not counting the seek header's. */
  frameCount: number;
  /** Number of bytes from the seek header's frame to the end of the last frame. */
  byteCount: number;
  framesCrc16: number;
  /** The first error in the chain of frames. */
  fault?: string;
  seek?: SeekFields;
};

/** Parses a file: ID3v2 tag, seek header, frames. Never throws; damage is reported in `fault`. */
export function readParts(bytes: Uint8Array): FileParts {
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  const start = tagBytes(buffer);
  const { starts, fault } = walkFrames(buffer, start);
  const seek = readSeekFields(buffer, start);
  const end = starts[starts.length - 1] ?? start;
  const firstSound = seek === undefined ? start : (starts[1] ?? end);
  return {
    frameCount: starts.length - 1 - (seek === undefined ? 0 : 1),
    byteCount: end - start,
    framesCrc16: crc16(buffer.subarray(firstSound, end)),
    ...(fault === undefined ? {} : { fault }),
    ...(seek === undefined ? {} : { seek }),
  };
}

/** Returns the number of samples left after a player drops what the seek header says to drop. */
export function statedSamples(seek: SeekFields): number {
  return seek.frameCount * frameSamples - seek.encoderDelaySamples - seek.endPaddingSamples;
}

/** Returns whether the bytes look like MPEG audio at all: a tag or a frame sync at the start. */
export function looksLikeMp3(bytes: Uint8Array): boolean {
  const id3 = bytes[0] === 0x49 && bytes[1] === 0x44 && bytes[2] === 0x33;
  const sync = bytes[0] === 0xff && ((bytes[1] ?? 0) & 0xe6) === 0xe2;
  return id3 || sync;
}

/**
 * Returns the length of the ID3v2 tag in bytes (ID3v2.3, section 3.1: a 10-byte header with the size in 7-bit bytes).
 */
function tagBytes(buffer: Buffer): number {
  if (buffer.length < 10 || buffer.toString('latin1', 0, 3) !== 'ID3') return 0;
  const size = [6, 7, 8, 9].reduce((sum, at) => sum * 128 + ((buffer[at] ?? 0) & 0x7f), 0);
  return Math.min(buffer.length, 10 + size);
}

function readSeekFields(buffer: Buffer, frameStart: number): SeekFields | undefined {
  const frame = readFrame(buffer, frameStart);
  const at = frameStart + headerBytes + sideInfoBytes;
  const lameAt = at + 120;
  const fieldsEnd = lameAt + 34;
  if ('fault' in frame || frameStart + frame.bytes < fieldsEnd + 2) return undefined;
  if (buffer.toString('latin1', at, at + 4) !== 'Xing') return undefined;
  const delays = buffer.readUIntBE(lameAt + 21, 3);
  return {
    frameCount: buffer.readUInt32BE(at + 8),
    byteCount: buffer.readUInt32BE(at + 12),
    encoderDelaySamples: delays >> 12,
    endPaddingSamples: delays & 0xfff,
    framesCrc16: buffer.readUInt16BE(fieldsEnd - 2),
    intact: buffer.readUInt16BE(fieldsEnd) === crc16(buffer.subarray(frameStart, fieldsEnd)),
  };
}
