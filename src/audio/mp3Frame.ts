import { sampleRateHz } from '../signal/sampleRate.js';

/**
 * Frames of MPEG-2 Layer III at 24 kHz, one channel (ISO/IEC 13818-3, section 2.4; header layout ISO/IEC
 * 11172-3, section 2.4.1.3). One frame is 576 samples, which is exactly 24 ms.
 */
export const frameSamples = 576;
export const frameMs = 24;

/** Codec delay in samples: 576 in the encoder, 528 + 1 in the decoder. */
export const encoderDelaySamples = 576;
const decoderDelaySamples = 529;
export const codecDelaySamples = encoderDelaySamples + decoderDelaySamples;

export const headerBytes = 4;
/** Length of the side information of a one-channel MPEG-2 frame without a checksum; the seek fields follow it. */
export const sideInfoBytes = 9;

/** Bit rates by the value of the bit rate field; 0 means free format, 15 is forbidden. */
const bitRatesKbps = [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160] as const;

/** The first two bytes: eleven ones, MPEG-2, Layer III, no checksum. */
const firstBytes = [0xff, 0xf3] as const;
/** The last byte: one channel, not copyrighted, original, no emphasis. */
const lastByte = 0xc4;
const rateField24kHz = 0b01;

/** Returns the length of a frame at this bit rate, in bytes. At 24 kHz no frame ever needs padding. */
export function frameBytes(bitRateKbps: number): number {
  return Math.floor((72 * bitRateKbps * 1000) / sampleRateHz);
}

/** Returns a frame without sound: all-zero side information makes a decoder output exact silence. */
export function emptyFrame(bitRateKbps: (typeof bitRatesKbps)[number]): Buffer {
  const frame = Buffer.alloc(frameBytes(bitRateKbps));
  frame.set(firstBytes, 0);
  frame[2] = (bitRatesKbps.indexOf(bitRateKbps) << 4) | (rateField24kHz << 2);
  frame[3] = lastByte;
  return frame;
}

/** The smallest legal silent frame: 8 kbit/s, 24 bytes. */
export const silentFrame = emptyFrame(8);

/** The frame at `offset`, or what is wrong there. */
export type FrameReading = { bytes: number } | { fault: string };

/**
 * Reads the frame at `offset` and accepts only what this project writes: a whole frame of MPEG-2 Layer III, 24 kHz, one
 * channel, without a checksum, and with a bit reservoir pointer of 0, so that it can be decoded without the frames
 * before it.
 */
export function readFrame(bytes: Uint8Array, offset: number): FrameReading {
  if (offset + headerBytes + 2 > bytes.length) return { fault: 'the file ends inside a frame header' };
  if (bytes[offset] !== firstBytes[0] || bytes[offset + 1] !== firstBytes[1]) {
    return { fault: 'no frame header where one is due' };
  }
  const third = bytes[offset + 2] ?? 0;
  const fourth = bytes[offset + 3] ?? 0;
  const bitRateKbps = bitRatesKbps[third >> 4];
  if (bitRateKbps === undefined || bitRateKbps === 0) return { fault: 'a bit rate that is not allowed' };
  if (((third >> 2) & 0b11) !== rateField24kHz) return { fault: 'a sample rate other than 24 kHz' };
  if ((third & 0b10) !== 0) return { fault: 'a padded frame, which 24 kHz never needs' };
  if (fourth >> 6 !== 0b11) return { fault: 'more than one channel' };
  if ((fourth & 0b11) === 0b10) return { fault: 'an emphasis that is reserved' };
  // main_data_begin: the first eight bits of the side information.
  if (bytes[offset + headerBytes] !== 0) return { fault: 'a frame that leans on the frame before it' };
  const length = frameBytes(bitRateKbps);
  if (offset + length > bytes.length) return { fault: 'the file ends inside a frame' };
  return { bytes: length };
}

/** Returns the start of each frame in bytes, followed by the end of the last one. Stops at the first fault. */
export function walkFrames(bytes: Uint8Array, startByte = 0): { starts: Uint32Array; fault?: string } {
  const starts: number[] = [];
  let at = startByte;
  while (at < bytes.length) {
    const frame = readFrame(bytes, at);
    if ('fault' in frame) return { starts: Uint32Array.from([...starts, at]), fault: frame.fault };
    starts.push(at);
    at += frame.bytes;
  }
  starts.push(at);
  return { starts: Uint32Array.from(starts) };
}
