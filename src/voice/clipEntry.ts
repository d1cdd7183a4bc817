import { samplesPerMs } from '../signal/sampleRate.js';
import type { PreparedClip } from './prepareClip.js';

/**
 * The stored form of a prepared clip. Layout, with little-endian integers:
 *
 * | offset | length | content | |---|---|---| | 0 | 4 | offset of the beat in milliseconds | | 4 | 4 | number of
 * samples | | 8 | 2 each | samples, signed 16 bit |
 */
const headerLength = 8;

/** Encodes a prepared clip for the cache. */
export function encodeClip(clip: PreparedClip): Uint8Array {
  const bytes = Buffer.alloc(headerLength + 2 * clip.samples.length);
  bytes.writeUInt32LE(clip.beatOffsetMs, 0);
  bytes.writeUInt32LE(clip.samples.length, 4);
  // A DataView instead of the buffer's own methods, which check every number again and took six times as long.
  const samples = new DataView(bytes.buffer, bytes.byteOffset + headerLength);
  for (let at = 0; at < clip.samples.length; at += 1) samples.setInt16(2 * at, clip.samples[at] ?? 0, true);
  return bytes;
}

/** Reads the length and beat of a stored clip; null when the bytes are not a clip. */
export function readClipHead(bytes: Uint8Array): { beatOffsetMs: number; lengthSamples: number } | null {
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (buffer.length < headerLength) return null;
  const beatOffsetMs = buffer.readUInt32LE(0);
  const lengthSamples = buffer.readUInt32LE(4);
  const whole = buffer.length === headerLength + 2 * lengthSamples && lengthSamples % samplesPerMs === 0;
  return whole && beatOffsetMs * samplesPerMs <= lengthSamples ? { beatOffsetMs, lengthSamples } : null;
}

/** Reads the samples of a stored clip, from -1 to 1. */
export function readClipSamples(bytes: Uint8Array): Float32Array {
  const sampleBytes = new DataView(
    bytes.buffer,
    bytes.byteOffset + headerLength,
    bytes.byteLength - headerLength,
  );
  const samples = new Float32Array(sampleBytes.byteLength / 2);
  for (let at = 0; at < samples.length; at += 1) samples[at] = sampleBytes.getInt16(2 * at, true) / 32768;
  return samples;
}
