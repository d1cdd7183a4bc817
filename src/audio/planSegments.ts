import { createHash } from 'node:crypto';
import { workError } from '../errors/stillcountError.js';
import { samplesPerMs } from '../signal/sampleRate.js';
import { codecDelaySamples, encoderDelaySamples, frameSamples } from './mp3Frame.js';
import type { PlacedSound } from './sound.js';

/**
 * Number of extra frames that a sound can affect before and after its own. A frame is analyzed over 1152 samples after
 * a filter of 512 (ISO/IEC 11172-3, annex C), so three before and one after hold everything; the second one after lets
 * the encoder settle inside the segment.
 */
const guardFramesBefore = 3;
const guardFramesAfter = 2;

/** A sound inside a segment. */
type SegmentPart = {
  sound: PlacedSound;
  /** First sample, counted from the start of the segment's first frame in the decoder's output. */
  offsetSamples: number;
};

/** A piece of sound that is encoded once, cached, and put into sessions by copying its frames. */
export type Segment = {
  /** Frame of the session at which it starts; negative for sounds at the very start, whose guard frames are cut off. */
  firstFrame: number;
  frameCount: number;
  parts: readonly SegmentPart[];
  /** Identifies the samples: equal keys always mean the same samples in the same frames. */
  key: string;
};

export type SessionPlan = {
  durationMs: number;
  /** Number of frames of sound, not counting the seek header's. */
  frameCount: number;
  /** Number of samples after the end, including the decoder's delay, as the seek header counts them. */
  endPaddingSamples: number;
  /** In ascending order, never overlapping. */
  segments: readonly Segment[];
};

/**
 * Divides a session into segments and silence. Sounds so close that they share a frame go into one segment.
 *
 * @throws StillcountError kind `work` when a sound reaches outside the session
 */
export function planSegments(sounds: readonly PlacedSound[], durationMs: number): SessionPlan {
  const durationSamples = durationMs * samplesPerMs;
  const frameCount = Math.ceil((durationSamples + codecDelaySamples) / frameSamples);
  const sorted = sounds.filter((sound) => sound.lengthSamples > 0).sort(byStartThenKey);
  const segments: Segment[] = [];
  let group: PlacedSound[] = [];
  let groupEndFrame = -Infinity;
  for (const sound of sorted) {
    if (sound.startSample < 0 || sound.startSample + sound.lengthSamples > durationSamples) {
      throw outside(sound, durationSamples);
    }
    if (group.length > 0 && firstFrameOf(sound) >= groupEndFrame) {
      segments.push(toSegment(group, groupEndFrame));
      group = [];
      groupEndFrame = -Infinity;
    }
    group.push(sound);
    groupEndFrame = Math.max(groupEndFrame, endFrameOf(sound));
  }
  if (group.length > 0) segments.push(toSegment(group, groupEndFrame));
  return {
    durationMs,
    frameCount,
    endPaddingSamples: frameCount * frameSamples - encoderDelaySamples - durationSamples,
    segments,
  };
}

function byStartThenKey(a: PlacedSound, b: PlacedSound): number {
  if (a.startSample !== b.startSample) return a.startSample - b.startSample;
  return a.key < b.key ? -1 : a.key > b.key ? 1 : a.lengthSamples - b.lengthSamples;
}

function firstFrameOf(sound: PlacedSound): number {
  return Math.floor((sound.startSample + codecDelaySamples) / frameSamples) - guardFramesBefore;
}

/** Returns the first frame after the sound and its guard frames. */
function endFrameOf(sound: PlacedSound): number {
  const lastSample = sound.startSample + sound.lengthSamples - 1;
  return Math.floor((lastSample + codecDelaySamples) / frameSamples) + guardFramesAfter + 1;
}

function toSegment(sounds: readonly PlacedSound[], endFrame: number): Segment {
  const firstFrame = Math.min(...sounds.map(firstFrameOf));
  const parts = sounds.map((sound) => ({
    sound,
    offsetSamples: sound.startSample + codecDelaySamples - firstFrame * frameSamples,
  }));
  const frameCount = endFrame - firstFrame;
  const content = parts.map((part) => [part.sound.key, part.offsetSamples, part.sound.lengthSamples]);
  const key = createHash('sha256')
    .update(JSON.stringify([frameCount, content]))
    .digest('hex');
  return { firstFrame, frameCount, parts, key };
}

function outside(sound: PlacedSound, durationSamples: number) {
  return workError({
    message: 'a sound reaches outside the session',
    found: `samples ${sound.startSample} to ${sound.startSample + sound.lengthSamples}`,
    allowed: `samples 0 to ${durationSamples}`,
  });
}
