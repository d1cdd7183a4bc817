import { Readable } from 'node:stream';
import { workError } from '../errors/stillcountError.js';
import type { EncoderTimes } from '../ffmpeg/encoderTimes.js';
import { runFfmpeg } from '../ffmpeg/runFfmpeg.js';
import { sampleRateHz } from '../signal/sampleRate.js';
import { codecDelaySamples, frameSamples, walkFrames } from './mp3Frame.js';
import type { Segment } from './planSegments.js';

/**
 * Frames of silence before each segment in the encoder's stream. LAME adapts to earlier loudness: its hearing threshold
 * falls by a factor of 0.925 per frame, from 1 to 0.000625 in 95 frames (from memory of its source; measured: 40 frames
 * are too few, 100 are enough). After 128 frames a segment's bytes no longer depend on what was encoded before it, so
 * they can be cached and used anywhere.
 */
const restFrames = 128;

const bytesPerSample = 2;
/** 160 kbit/s, the highest bit rate of MPEG-2 Layer III, with padding (ISO/IEC 13818-3, 2.4.2.3). */
const mostFrameBytes = 481;
/** Room for the frames that the encoder adds at the end, with plenty to spare. */
const framesAfter = 1_000;

/**
 * Change this whenever this file could encode the same segment to different bytes, because it is part of the cache key.
 */
export const encodingVersion = 'segment/1 libmp3lame q5 no-reservoir rest128 s16';

/**
 * Encodes segments through one ffmpeg process and returns the frames of each, in the order given, as views of one
 * buffer.
 *
 * @param options.rest number of silent frames before each segment; other values than the default are for tests
 * @param options.times how long to wait for the encoder; defaults to the usual deadlines
 * @throws StillcountError kind `work` when ffmpeg fails or returns different frames than requested
 */
export async function encodeSegments(
  segments: readonly Segment[],
  { rest = restFrames, times }: { rest?: number; times?: EncoderTimes | undefined } = {},
): Promise<Buffer[]> {
  if (segments.length === 0) return [];
  const frameCount = segments.reduce((sum, segment) => sum + rest + segment.frameCount, 0);
  const stream = await runFfmpeg({
    input: Readable.from(pcmOf(segments, rest), { objectMode: false }),
    inputOptions: ['-f', 's16le', '-ar', String(sampleRateHz), '-ac', '1'],
    outputOptions: [
      ...['-c:a', 'libmp3lame', '-q:a', '5', '-reservoir', '0', '-f', 'mp3'],
      ...['-write_xing', '0', '-id3v2_version', '0', '-map_metadata', '-1', '-flags', '+bitexact'],
    ],
    mostOutputBytes: (frameCount + framesAfter) * mostFrameBytes,
    ...(times === undefined ? {} : { times }),
  });
  const { starts, fault } = walkFrames(stream);
  if (fault !== undefined) throw unexpected(fault);
  let frame = 0;
  return segments.map((segment) => {
    const first = starts[frame + rest];
    frame += rest + segment.frameCount;
    const end = starts[frame];
    if (first === undefined || end === undefined) throw unexpected('fewer frames than were asked for');
    return stream.subarray(first, end);
  });
}

/** Yields the samples of all segments as 16-bit PCM, each segment aligned to the start of a frame. */
async function* pcmOf(segments: readonly Segment[], rest: number): AsyncIterable<Buffer> {
  const restBetween = Buffer.alloc(rest * frameSamples * bytesPerSample);
  // All segments share one mixing buffer; a new one per segment would use up memory faster than it is freed.
  const longest = Math.max(...segments.map((segment) => segment.frameCount));
  const table = new Float32Array(longest * frameSamples);
  // The codec delays its output; starting that much earlier puts the sound back on frame boundaries.
  yield restBetween.subarray(codecDelaySamples * bytesPerSample);
  for (const [index, segment] of segments.entries()) {
    if (index > 0) yield restBetween;
    const mixed = table.subarray(0, segment.frameCount * frameSamples);
    await mixSegment(segment, mixed);
    yield* toPcm(mixed);
  }
  yield Buffer.alloc((codecDelaySamples + 2 * frameSamples) * bytesPerSample);
}

/** Mixes a segment's sounds into `mixed`, which is overwritten. */
async function mixSegment(segment: Segment, mixed: Float32Array): Promise<void> {
  mixed.fill(0);
  for (const { sound, offsetSamples } of segment.parts) {
    const samples = await sound.samples();
    if (samples.length !== sound.lengthSamples) throw wrongLength(sound.lengthSamples, samples.length);
    for (let i = 0; i < samples.length; i += 1) {
      mixed[offsetSamples + i] = (mixed[offsetSamples + i] ?? 0) + (samples[i] ?? 0);
    }
  }
}

const pieceSamples = 8192;

/** Yields 16-bit PCM in small pieces, clipped to the 16-bit range. */
function* toPcm(mixed: Float32Array): Iterable<Buffer> {
  for (let start = 0; start < mixed.length; start += pieceSamples) {
    const length = Math.min(pieceSamples, mixed.length - start);
    const piece = Buffer.alloc(length * bytesPerSample);
    const view = new DataView(piece.buffer, piece.byteOffset, piece.length);
    for (let i = 0; i < length; i += 1) {
      const value = Math.round((mixed[start + i] ?? 0) * 32_768);
      view.setInt16(i * bytesPerSample, Math.max(-32_768, Math.min(32_767, value)), true);
    }
    yield piece;
  }
}

function wrongLength(expectedSamples: number, foundSamples: number) {
  return workError({
    message: 'a sound is not as long as was said when the session was planned',
    found: `${foundSamples} samples`,
    allowed: `${expectedSamples} samples`,
  });
}

function unexpected(found: string) {
  return workError({
    message: 'the encoder gave something other than the frames asked for',
    found,
    hint: 'another build of ffmpeg may help; name it in STILLCOUNT_FFMPEG',
  });
}
