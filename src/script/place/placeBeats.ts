import { inputError } from '../../errors/stillcountError.js';
import type { Beat, Train } from '../layout.js';
import { minGapMs, phaseTailMs, toneGuardMs } from '../rules.js';
import type { Cue } from '../timedScript.js';
import { beatOffsetMs, placeOf, shortest, type Timeline } from './timeline.js';

/**
 * Puts each beat's words so that their perceptual centre or onset lies on the beat (invariant S3), in the longest form
 * that leaves the smallest gap to the words on either side and ends well before its breath phase does.
 */
export function placeBeats(timeline: Timeline, train: Train, firstBeatMs: number): void {
  const ownCuesFrom = timeline.cues.length;
  let spokenEndMs = timeline.cursorMs;
  train.beats.forEach((beat, index) => {
    const beatMs = firstBeatMs + beat.atMs;
    const later = train.beats.slice(index + 1);
    const phaseLimitMs =
      beat.phaseMs === undefined ? Number.POSITIVE_INFINITY : beatMs + beat.phaseMs - phaseTailMs;
    const limitMs = (before: readonly Beat[]) =>
      Math.min(phaseLimitMs, wordsStartMs(timeline, before, firstBeatMs) - minGapMs);
    const room = {
      fromMs: spokenEndMs + minGapMs,
      toMs: limitMs(later),
      // Words that must be said may take the room of a count that need not be.
      toAtMostMs:
        beat.need === 'always' ? limitMs(later.filter(({ need }) => need === 'always')) : limitMs(later),
    };
    const spoken = beat.words === null ? null : fitWords(timeline, beat, beatMs, room);
    if (spoken !== null) spokenEndMs = spoken.endMs;
    const phase = beat.phaseMs === undefined ? null : { startMs: beatMs, endMs: beatMs + beat.phaseMs };
    const times = spoken ?? phase;
    if (times === null) return;
    timeline.cues.push({
      ...placeOf(timeline, beat.where),
      kind: beat.kind,
      role: beat.role,
      ...(spoken === null ? {} : { text: spoken.text }),
      startMs: times.startMs,
      endMs: times.endMs,
      beatMs,
      ...(phase === null ? {} : { phase }),
      resumeHere: beat.resumeHere || (train.resumeHere && train.lead.length === 0 && index === 0),
    });
  });
  addTones(timeline.cues.slice(ownCuesFrom), train.beats, firstBeatMs);
}

/** Where the next spoken beat's shortest words begin; infinite when nothing more is said in the train. */
function wordsStartMs(timeline: Timeline, beats: readonly Beat[], firstBeatMs: number): number {
  const next = beats.find(({ words }) => words !== null);
  if (next === undefined || next.words === null) return Number.POSITIVE_INFINITY;
  return firstBeatMs + next.atMs - beatOffsetMs(timeline, next, shortest(next.words));
}

type Room = { fromMs: number; toMs: number; toAtMostMs: number };
type Spoken = { text: string; startMs: number; endMs: number };

function fitWords(timeline: Timeline, beat: Beat, beatMs: number, room: Room): Spoken | null {
  const words = beat.words ?? [];
  for (const limitMs of [room.toMs, room.toAtMostMs]) {
    for (const text of words) {
      const startMs = beatMs - beatOffsetMs(timeline, beat, text);
      const endMs = startMs + timeline.measure(text).durationMs;
      if (startMs >= room.fromMs && endMs <= limitMs) return { text, startMs, endMs };
    }
  }
  if (beat.need === 'always') throw noRoom(timeline, beat, room);
  const left = words[0];
  if (left !== undefined) {
    timeline.notes.push({
      kind: 'count-left-out',
      ...(beat.where.exercise === undefined ? {} : { exercise: beat.where.exercise }),
      values: { count: left },
    });
  }
  return null;
}

function noRoom(timeline: Timeline, beat: Beat, room: Room) {
  const text = beat.words === null ? '' : shortest(beat.words);
  const seconds = (ms: number) => `${(Math.max(0, ms) / 1000).toFixed(2)} s`;
  const needed = timeline.measure(text).durationMs;
  const available = Number.isFinite(room.toAtMostMs) ? room.toAtMostMs - room.fromMs : 0;
  return inputError({
    file: timeline.file,
    path: beat.roomPath,
    message: 'there is too little time here for the words that must be said',
    found: `${seconds(available)} for "${text}", which takes ${seconds(needed)}`,
    allowed: 'a longer time, or a faster speaking rate (wordsPerMinute)',
  });
}

/** Soft tones through the breath phases; each ends before the next words or phase begin. */
function addTones(cues: readonly Cue[], beats: readonly Beat[], firstBeatMs: number): void {
  for (const beat of beats) {
    if (beat.tone === undefined || beat.phaseMs === undefined) continue;
    const startMs = firstBeatMs + beat.atMs;
    const own = cues.findIndex((cue) => cue.kind === 'breath' && cue.beatMs === startMs);
    const cue = cues[own];
    if (cue === undefined) continue;
    const nextStartMs = cues[own + 1]?.startMs ?? Number.POSITIVE_INFINITY;
    const endMs = Math.min(startMs + beat.phaseMs, nextStartMs) - toneGuardMs;
    if (endMs > startMs) cue.tone = { direction: beat.tone, startMs, endMs };
  }
}
