import { alignInOrder } from './align.js';
import type { HeardWord } from './recognise.js';
import { wordsOf } from './words.js';

/** One line of a script that somebody must be able to hear. Times in whole milliseconds. */
export type SpokenCue = { text: string; startMs: number; endMs: number };

type Fault =
  /** Not every word of the cue was heard in its place in the order. */
  | { kind: 'missing'; text: string; startMs: number; notHeard: string[] }
  /** Heard in order, but its first word began too early (below zero) or too late. */
  | { kind: 'misplaced'; text: string; startMs: number; offsetMs: number }
  /** A word that no cue accounts for, apart from all others by silence. */
  | { kind: 'foreign'; text: string; startMs: number };

export type Comparison = {
  faults: Fault[];
  /** For each cue heard whole: start of its first word as heard, less the start in the script. */
  offsetsMs: number[];
};

/** Invariant A6 of the project: every cue is heard within a quarter of a second of its time. */
const startToleranceMs = 250;

/** Holds what was heard against a script: all spoken cues, in order, each where it should be. */
export function compareWithScript(cues: readonly SpokenCue[], heard: readonly HeardWord[]): Comparison {
  const expected = cues.flatMap((cue, cueIndex) => {
    const words = wordsOf(cue.text);
    const stepMs = (cue.endMs - cue.startMs) / words.length;
    return words.map((word, i) => ({ word, cueIndex, startMs: cue.startMs + i * stepMs }));
  });
  const pairs = alignInOrder(expected, heard);
  const matched = new Set(pairs.flatMap((index) => (index === undefined ? [] : [index])));
  const faults: Fault[] = [];
  const offsetsMs: number[] = [];
  cues.forEach(({ text, startMs }, cueIndex) => {
    const own = expected.flatMap(({ word, cueIndex: of }, i) =>
      of === cueIndex ? [{ word, heardAt: pairs[i] }] : [],
    );
    const notHeard = own.filter(({ heardAt }) => heardAt === undefined).map(({ word }) => word);
    const first = own[0]?.heardAt;
    if (notHeard.length > 0 || first === undefined) {
      faults.push({ kind: 'missing', text, startMs, notHeard });
      return;
    }
    const offsetMs = soundStartMs(heard, first, matched) - startMs;
    offsetsMs.push(offsetMs);
    if (Math.abs(offsetMs) > startToleranceMs) faults.push({ kind: 'misplaced', text, startMs, offsetMs });
  });
  for (const { word, startMs } of foreignWords(heard, matched)) {
    faults.push({ kind: 'foreign', text: word, startMs });
  }
  return { faults: faults.sort((a, b) => a.startMs - b.startMs), offsetsMs };
}

/*
 * A slow vowel is sometimes written down as two words, "press roll" for a long "roll". Cues are never closer than
 * 250 ms (invariant S4), so a word that leads or follows another without any silence is no cue of its own but a
 * part of its neighbor's sound.
 */

/** Where the sound of a matched word begins, with the unmatched words that run into it. */
function soundStartMs(heard: readonly HeardWord[], index: number, matched: ReadonlySet<number>): number {
  let first = index;
  while (heard[first]?.joined === true && first > 0 && !matched.has(first - 1)) first--;
  return heard[first]?.startMs ?? 0;
}

/** The words of every stretch of sound that has no matched word at all. */
function foreignWords(heard: readonly HeardWord[], matched: ReadonlySet<number>): HeardWord[] {
  const stretches: { words: HeardWord[]; known: boolean }[] = [];
  heard.forEach((word, index) => {
    const current = stretches.at(-1);
    if (word.joined && current !== undefined) {
      current.words.push(word);
      current.known ||= matched.has(index);
    } else stretches.push({ words: [word], known: matched.has(index) });
  });
  return stretches.filter((stretch) => !stretch.known).flatMap((stretch) => stretch.words);
}
