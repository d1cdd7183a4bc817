import type { ChangeKind } from '../catalogue/changeKinds.js';
import type { CueRole, Side, Tone } from './timedScript.js';

/**
 * The layout: everything spoken and done, in order, before any wording has been measured. Two kinds of item cover all
 * timing shapes: a line that is spoken as soon as there is time for it, and a train of beats at fixed intervals.
 */

/** Alternative wordings in order of preference: usually the same content in several lengths, the shortest last. */
export type Words = readonly [string, ...string[]];

/** Identifies where a cue belongs; copied onto every cue of the item. */
export type Where = {
  exercise?: string;
  set?: number;
  rep?: number;
  side?: Side;
};

/** The time this person needs for a change of position, counted from the end of the words. */
export type OwnTime = {
  kind: ChangeKind;
  ms: number;
  /** Spoken in the middle of a long change; null for a short one. */
  comfort: Words | null;
};

/** A line spoken in the flow of talk; whatever follows waits for it. */
export type Say = {
  item: 'say';
  role: CueRole;
  words: Words;
  where: Where;
  /** Silence before the line, at least the smallest gap between cues. */
  gapBeforeMs: number;
  /** Silence after the line, so that the listener can do what it says. */
  silenceAfterMs: number;
  /** Set for a change of position; null for everything else. */
  ownTime: OwnTime | null;
  /** Listening can start again just before it. */
  resumeHere: boolean;
};

/** A cue at a fixed distance from the train's first beat. */
export type Beat = {
  atMs: number;
  /**
   * Which point of the words lies on the beat: the perceptual center for a count or a command that is followed at once,
   * the onset for a phrase that opens a longer stretch of time (only a word has a perceptual center, not a sentence).
   */
  alignBy: 'centre' | 'onset';
  kind: 'speech' | 'count' | 'breath';
  role: CueRole;
  /**
   * Null for a breath phase without words, and for a count that is replaced by a tone. Otherwise one wording has to
   * fit, or placing fails with an error.
   */
  words: Words | null;
  /** A count and its index within its part, starting at 0 on the second in which the part begins. */
  count?: CountPlace;
  where: Where;
  /** For breath phases: how long the phase lasts. */
  phaseMs?: number;
  tone?: Tone['direction'];
  /** Path in the program file of the number that can leave too little room for the words. */
  roomPath: string;
  resumeHere: boolean;
};

/** One count within a part of a repetition. All counts of a part take the same form. */
export type CountPlace = { part: 'hold' | 'lift' | 'lower'; index: number; number: string };

/** A reminder or time mark inside a train, spoken near its time if there is room and otherwise dropped. */
export type Filler = {
  atMs: number;
  /** How much later it may still be spoken. */
  slackMs: number;
  role: 'coaching' | 'time-mark';
  words: Words;
  where: Where;
  /** Whether listening can resume just before it: only where nothing is being held. */
  resumeHere: boolean;
};

/** Beats at fixed intervals, introduced by words that end just before the first beat. */
export type Train = {
  item: 'train';
  /** Spoken one after the other, ending just before the first beat. */
  lead: readonly { role: 'prepare' | 'start'; words: Words }[];
  beats: readonly [Beat, ...Beat[]];
  fillers: readonly Filler[];
  /** Time from the first beat to the end of the work: the last beat, or the end of the last breath phase. */
  lengthMs: number;
  /** Prescribed rest after the previous train's last beat; 0 where none is prescribed. */
  restBeforeMs: number;
  /** Spoken during the preceding rest: the first wording that fits without lengthening the rest, or nothing. */
  restWords: { role: 'coaching' | 'rest'; words: Words } | null;
  /** Lines at the start of the preceding rest: what to move for the other side, or how to leave the position. */
  changes: readonly Say[];
  /** Lines just before the lead: how to take up the starting position, each with its time. */
  position: readonly Say[];
  where: Where;
  /** Whether listening can resume just before the lead. */
  resumeHere: boolean;
};

export type Item = Say | Train;

/** One chapter of the session. */
export type Block = {
  title: string;
  exercise?: string;
  items: readonly Item[];
};
