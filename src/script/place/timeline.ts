import type { Beat, Where, Words } from '../layout.js';
import type { ClipMeasure } from '../measure.js';
import type { Cue } from '../timedScript.js';

/** A cue on the timeline, and whether listening can start again just before it. */
export type PlacedCue = Cue & { resumeHere: boolean };

/** Something that placing had to change, before it is put into words. */
export type AdjustmentNote = {
  kind:
    | 'rest-grew'
    | 'rest-grew-for-change'
    | 'counts-every-second'
    | 'counts-as-tones'
    | 'dose-fitted'
    | 'wording-shortened'
    | 'precautions-elsewhere';
  exercise?: string;
  values: Readonly<Record<string, number | string>>;
};

/** The timeline as it grows. Times are whole milliseconds. */
export type Timeline = {
  cues: PlacedCue[];
  /** End of everything heard and done so far. */
  cursorMs: number;
  /** End of the last train's work, from which a prescribed rest is measured; null when there was none. */
  workEndMs: number | null;
  /** The explanation that was the last thing said: its end, and the time after it that could be left out; else null. */
  explained: { endMs: number; spareMs: number } | null;
  chapter: number;
  notes: AdjustmentNote[];
  /** The program file, for messages. */
  file: string;
  measure: (text: string) => ClipMeasure;
};

/** The first multiple of `gridMs` at or after a time. */
export function ceilTo(gridMs: number, atMs: number): number {
  return Math.ceil(atMs / gridMs) * gridMs;
}

/** The last multiple of `gridMs` at or before a time. */
export function floorTo(gridMs: number, atMs: number): number {
  return Math.floor(atMs / gridMs) * gridMs;
}

/** Chooses one of the wordings that say the same. */
export type Form = (words: Words) => string;

/** The form preferred where there is room. */
export function longest(words: Words): string {
  return words[0];
}

/** The form used where there is least room. */
export function shortest(words: Words): string {
  return words[words.length - 1] ?? words[0];
}

/** The fields that say where a cue belongs. */
export function placeOf(timeline: Timeline, where: Where): Pick<Cue, 'chapter'> & Where {
  return { chapter: timeline.chapter, ...where };
}

/** From the start of a beat's words to the part of them that lies on the beat. */
export function beatOffsetMs(timeline: Timeline, beat: Pick<Beat, 'alignBy'>, text: string): number {
  return beat.alignBy === 'onset' ? 0 : timeline.measure(text).beatOffsetMs;
}
