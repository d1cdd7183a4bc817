import type { Beat, Where, Words } from '../layout.js';
import type { ClipMeasure } from '../measure.js';
import type { Cue } from '../timedScript.js';

/** A cue on the timeline, and whether listening can resume just before it. */
export type PlacedCue = Cue & { resumeHere: boolean };

/** Something that placing had to change, not yet put into words. */
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
  /** End of everything placed so far. */
  cursorMs: number;
  /** End of the previous train's work, from which a prescribed rest is measured; null when there is none. */
  workEndMs: number | null;
  /** Set when the last line was an explanation: its end, and the time after it that can be left out. Otherwise null. */
  explained: { endMs: number; spareMs: number } | null;
  chapter: number;
  notes: AdjustmentNote[];
  /** Name of the program file, for error messages. */
  file: string;
  measure: (text: string) => ClipMeasure;
};

/** Returns the first multiple of `gridMs` at or after a time. */
export function ceilTo(gridMs: number, atMs: number): number {
  return Math.ceil(atMs / gridMs) * gridMs;
}

/** Returns the last multiple of `gridMs` at or before a time. */
export function floorTo(gridMs: number, atMs: number): number {
  return Math.floor(atMs / gridMs) * gridMs;
}

/** Chooses among alternative wordings. */
export type Form = (words: Words) => string;

/** Returns the form to use where there is room. */
export function longest(words: Words): string {
  return words[0];
}

/** Returns the form to use where room is tightest. */
export function shortest(words: Words): string {
  return words[words.length - 1] ?? words[0];
}

/** Returns the fields that identify where a cue belongs. */
export function placeOf(timeline: Timeline, where: Where): Pick<Cue, 'chapter'> & Where {
  return { chapter: timeline.chapter, ...where };
}

/** Returns the time from the start of a beat's words to the point that lies on the beat, in milliseconds. */
export function beatOffsetMs(timeline: Timeline, beat: Pick<Beat, 'alignBy'>, text: string): number {
  return beat.alignBy === 'onset' ? 0 : timeline.measure(text).beatOffsetMs;
}
