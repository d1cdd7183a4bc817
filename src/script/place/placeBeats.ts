import { inputError } from '../../errors/stillcountError.js';
import type { Beat, Train, Words } from '../layout.js';
import { countToneMs, minGapMs, phaseTailMs, toneGuardMs } from '../rules.js';
import type { Cue } from '../timedScript.js';
import { type CountForms, inForms, simplerForms } from './countForms.js';
import { beatOffsetMs, placeOf, shortest, type Timeline } from './timeline.js';

/**
 * Rule S3: a beat is where its word is heard. Places each beat's words so that their perceptual center or onset falls
 * on the beat, in the longest form that keeps the minimum gap to the words on either side and ends well before its
 * breath phase does. Where the voice is too slow for the counts of a part, all of them take a form that fits, and a
 * note says so.
 */
export function placeBeats(timeline: Timeline, train: Train, firstBeatMs: number): void {
  const ownCuesFrom = timeline.cues.length;
  const { beats, spoken } = fitBeats(timeline, train, firstBeatMs);
  beats.forEach((beat, index) => {
    const beatMs = firstBeatMs + beat.atMs;
    const phase = beat.phaseMs === undefined ? null : { startMs: beatMs, endMs: beatMs + beat.phaseMs };
    const countTone =
      beat.tone === 'level' ? { direction: beat.tone, startMs: beatMs, endMs: beatMs + countToneMs } : null;
    const words = spoken[index] ?? null;
    const times = words ?? phase ?? countTone;
    if (times === null) return;
    timeline.cues.push({
      ...placeOf(timeline, beat.where),
      kind: beat.kind,
      role: beat.role,
      ...(words === null ? {} : { text: words.text }),
      startMs: times.startMs,
      endMs: times.endMs,
      beatMs,
      ...(phase === null ? {} : { phase }),
      ...(countTone === null || beat.count === undefined
        ? {}
        : { shown: beat.count.number, tone: countTone }),
      resumeHere: beat.resumeHere || (train.resumeHere && train.lead.length === 0 && index === 0),
    });
  });
  addTones(timeline.cues.slice(ownCuesFrom), train.beats, firstBeatMs);
}

type Spoken = { text: string; startMs: number; endMs: number };
type Fitted = { beats: readonly Beat[]; spoken: readonly (Spoken | null)[] };

/** Chooses words for every beat, with the counts of each part in the first form in which all of them fit. */
function fitBeats(timeline: Timeline, train: Train, firstBeatMs: number): Fitted {
  let forms: CountForms = new Map();
  for (;;) {
    const beats = inForms(train.beats, forms);
    const outcome = fitAll(timeline, beats, firstBeatMs);
    if (outcome.failed === null) {
      noteForms(timeline, train, forms);
      return { beats, spoken: outcome.spoken };
    }
    const simpler = simplerForms(train.beats, beats, outcome.failed.index, forms);
    if (simpler === null) throw noRoom(timeline, outcome.failed.beat, outcome.failed.room);
    forms = simpler;
  }
}

type Room = { fromMs: number; toMs: number };
type Outcome = {
  spoken: (Spoken | null)[];
  failed: { index: number; beat: Beat; room: Room } | null;
};

function fitAll(timeline: Timeline, beats: readonly Beat[], firstBeatMs: number): Outcome {
  const spoken: (Spoken | null)[] = [];
  let spokenEndMs = timeline.cursorMs;
  for (const [index, beat] of beats.entries()) {
    const beatMs = firstBeatMs + beat.atMs;
    const phaseEndMs = beat.phaseMs === undefined ? Number.POSITIVE_INFINITY : beatMs + beat.phaseMs;
    const nextMs = wordsStartMs(timeline, beats.slice(index + 1), firstBeatMs);
    const room = {
      fromMs: spokenEndMs + minGapMs,
      toMs: Math.min(phaseEndMs - phaseTailMs, nextMs - minGapMs),
    };
    const fitted = beat.words === null ? null : fitWords(timeline, beat, beat.words, beatMs, room);
    if (beat.words !== null && fitted === null) return { spoken, failed: { index, beat, room } };
    spokenEndMs = fitted?.endMs ?? spokenEndMs;
    spoken.push(fitted);
  }
  return { spoken, failed: null };
}

/** Returns when the next spoken beat's shortest words begin; infinity when no spoken beat follows in the train. */
function wordsStartMs(timeline: Timeline, beats: readonly Beat[], firstBeatMs: number): number {
  const next = beats.find(({ words }) => words !== null);
  if (next === undefined || next.words === null) return Number.POSITIVE_INFINITY;
  return firstBeatMs + next.atMs - beatOffsetMs(timeline, next, shortest(next.words));
}

/** Rule S17: required words are spoken whole. Returns the longest wording that fits, or null when none does. */
function fitWords(timeline: Timeline, beat: Beat, words: Words, beatMs: number, room: Room): Spoken | null {
  for (const text of words) {
    const startMs = beatMs - beatOffsetMs(timeline, beat, text);
    const endMs = startMs + timeline.measure(text).durationMs;
    if (startMs >= room.fromMs && endMs <= room.toMs) return { text, startMs, endMs };
  }
  return null;
}

function noteForms(timeline: Timeline, train: Train, forms: CountForms): void {
  const isTempo = train.beats.some(({ role }) => role === 'lower');
  for (const [part, form] of forms) {
    if (form === 'every') continue;
    timeline.notes.push({
      kind: form === 'tones' ? 'counts-as-tones' : 'counts-every-second',
      ...(train.where.exercise === undefined ? {} : { exercise: train.where.exercise }),
      values: isTempo ? { part } : {},
    });
  }
}

function noRoom(timeline: Timeline, beat: Beat, room: Room) {
  const text = beat.words === null ? '' : shortest(beat.words);
  const seconds = (ms: number) => `${(Math.max(0, ms) / 1000).toFixed(2)} s`;
  const neededMs = timeline.measure(text).durationMs;
  const available = Number.isFinite(room.toMs) ? room.toMs - room.fromMs : 0;
  return inputError({
    file: timeline.file,
    path: beat.roomPath,
    message: 'there is not enough time here for what must be said',
    found: `${seconds(available)} for "${text}", which takes ${seconds(neededMs)}`,
    allowed: 'a longer time, or a faster speaking rate (wordsPerMinute)',
  });
}

/** Adds soft tones during the breath phases; each ends before the next words or the next phase begin. */
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
