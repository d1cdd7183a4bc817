import type { ChangeKind } from '../catalogue/changeKinds.js';
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

/** What a change of position takes: the person's own time, from the end of the words. */
export type OwnTime = {
  kind: ChangeKind;
  ms: number;
  /** Said in the middle of a long one; null for a short one. */
  comfort: Words | null;
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
  /** For a change of position; null for everything else. */
  ownTime: OwnTime | null;
  /** Listening can start again just before it. */
  resumeHere: boolean;
};

/** A cue at a fixed distance from the train's first beat. */
export type Beat = {
  atMs: number;
  /**
   * What of the words lies on the beat: the perceptual center of a word that is counted or obeyed at once, the
   * onset of a phrase that opens a longer stretch of time (a perceptual center belongs to a word, not a sentence).
   */
  alignBy: 'centre' | 'onset';
  kind: 'speech' | 'count' | 'breath';
  role: CueRole;
  /**
   * Null for a breath phase that passes in silence, and a count that a tone stands for. Else an error when none fits.
   */
  words: Words | null;
  /** A count, and its place among those of its part, from 0 on the second that the part begins. */
  count?: CountPlace;
  where: Where;
  /** Breath phases: how long the phase lasts. */
  phaseMs?: number;
  tone?: Tone['direction'];
  /** Where in the program file the number stands that may leave no room for the words. */
  roomPath: string;
  resumeHere: boolean;
};

/** Counts of one part of a repetition are given in one form, all of them. */
export type CountPlace = { part: 'hold' | 'lift' | 'lower'; index: number; number: string };

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
  /** At the start of the rest before: what must be moved for the other side, or how the position is left. */
  changes: readonly Say[];
  /** Just before the lead: how the starting position is taken up, each with its time. */
  position: readonly Say[];
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
