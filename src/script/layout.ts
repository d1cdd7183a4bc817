import type { CueRole, Side, Tone } from './timedScript.js';

/**
 * The layout: what is said and done, in order, before any wording has been measured. Two kinds of item are
 * enough for all timing shapes: something said when there is time for it, and a train of beats at fixed
 * distances.
 */

/** What may be said, in order of preference: usually the same in several lengths, the shortest last. */
export type Words = readonly [string, ...string[]];

/** Where a cue belongs; copied onto every cue of the item. */
export type Where = {
  exercise?: string;
  set?: number;
  rep?: number;
  side?: Side;
};

/** Something said in the flow of talk; the flow waits for it. */
export type Say = {
  item: 'say';
  role: CueRole;
  words: Words;
  where: Where;
  /** Silence before it, at least the smallest gap between cues. */
  gapBeforeMs: number;
  /** Silence after it, for the listener to do what it says. */
  silenceAfterMs: number;
  /** Listening can start again just before it. */
  resumeHere: boolean;
};

/** A cue at a fixed distance from the train's first beat. */
export type Beat = {
  atMs: number;
  /**
   * What of the words lies on the beat: the perceptual centre of a word that is counted or obeyed at once, the
   * onset of a phrase that opens a longer stretch of time (a perceptual centre belongs to a word, not a sentence).
   */
  alignBy: 'centre' | 'onset';
  kind: 'speech' | 'count' | 'breath';
  role: CueRole;
  /** Null for a breath phase that passes in silence. */
  words: Words | null;
  /** `always`: an error when it does not fit. `if-it-fits`: left out, with an adjustment. */
  need: 'always' | 'if-it-fits';
  where: Where;
  /** Breath phases: how long the phase lasts. */
  phaseMs?: number;
  tone?: Tone['direction'];
  /** Where in the program file the number stands that may leave no room for the words. */
  roomPath: string;
  resumeHere: boolean;
};

/** A reminder or time mark inside a train, said near its time if there is room, else not at all. */
export type Filler = {
  atMs: number;
  /** How much later it may still be said. */
  slackMs: number;
  role: 'coaching' | 'time-mark';
  words: Words;
  where: Where;
  /** Listening can start again just before it: only where nothing is being held. */
  resumeHere: boolean;
};

/** Beats at fixed distances, led in by words that end just before the first. */
export type Train = {
  item: 'train';
  /** Said one after the other, ending just before the first beat. */
  lead: readonly { role: 'prepare' | 'start'; words: Words }[];
  beats: readonly [Beat, ...Beat[]];
  fillers: readonly Filler[];
  /** From the first beat to the end of the work: the last beat, or the end of the last phase. */
  lengthMs: number;
  /** Prescribed rest since the last beat of the train before; 0 where none is prescribed. */
  restBeforeMs: number;
  /** Said during the rest before: the first that fits without making it longer, or nothing. */
  restWords: { role: 'coaching' | 'rest'; words: Words } | null;
  where: Where;
  /** Listening can start again just before the lead. */
  resumeHere: boolean;
};

export type Item = Say | Train;

/** One chapter of the session. */
export type Block = {
  title: string;
  exercise?: string;
  items: readonly Item[];
};
