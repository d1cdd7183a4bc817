import { crc16 } from './crc16.js';
import { emptyFrame, encoderDelaySamples, frameBytes, headerBytes, sideInfoBytes } from './mp3Frame.js';

/** What the seek header says about the frames that follow it. */
export type SeekFacts = {
  /** Number of frames of sound, not counting the seek header's own. */
  frameCount: number;
  /** Number of bytes of those frames. */
  byteCount: number;
  endPaddingSamples: number;
  /** CRC-16 of those frames. */
  framesCrc16: number;
  /** Returns the byte at which a given frame starts, counted from the first frame of sound. */
  byteOfFrame: (frame: number) => number;
};

const bitRateKbps = 64;

/** Length of the seek header: the smallest legal frame that holds its 169 bytes of fields. */
export const seekHeaderBytes = frameBytes(bitRateKbps);

const tocEntries = 100;
const variableRateMethod = 4;
const lowestKbps = 8;
const qualityOf100 = 50;

/**
 * Returns a silent frame that tells players how long the session is, where to jump when seeking, and how many samples
 * to drop at both ends (the "Xing" fields and the LAME fields after them, as publicly documented). Old players play it
 * as 24 ms of silence.
 */
export function seekHeader(facts: SeekFacts): Buffer {
  const frame = emptyFrame(bitRateKbps);
  const fileBytes = seekHeaderBytes + facts.byteCount;
  let at = headerBytes + sideInfoBytes;
  at += frame.write('Xing', at, 'latin1');
  at = frame.writeUInt32BE(0b1111, at);
  at = frame.writeUInt32BE(facts.frameCount, at);
  at = frame.writeUInt32BE(fileBytes, at);
  for (let percent = 0; percent < tocEntries; percent += 1) {
    const byte = seekHeaderBytes + facts.byteOfFrame(Math.floor((percent * facts.frameCount) / tocEntries));
    at = frame.writeUInt8(Math.min(255, Math.floor((256 * byte) / fileBytes)), at);
  }
  at = frame.writeUInt32BE(qualityOf100, at);
  at += frame.write('LAME3.100', at, 'latin1');
  at = frame.writeUInt8(variableRateMethod, at);
  const unstatedLowPassPeakAndGainBytes = 1 + 4 + 2 + 2;
  const unstatedFlagsBytes = 1;
  at += unstatedLowPassPeakAndGainBytes + unstatedFlagsBytes;
  at = frame.writeUInt8(lowestKbps, at);
  at = frame.writeUIntBE(encoderDelaySamples * 0x1000 + facts.endPaddingSamples, at, 3);
  const unstatedSourceGainAndPresetBytes = 1 + 1 + 2;
  at += unstatedSourceGainAndPresetBytes;
  at = frame.writeUInt32BE(fileBytes, at);
  at = frame.writeUInt16BE(facts.framesCrc16, at);
  frame.writeUInt16BE(crc16(frame.subarray(0, at)), at);
  return frame;
}
