import type { HeardWord } from './recognise.js';
import { wordsOf } from './words.js';

/** One line of a script that somebody must be able to hear. Times in whole milliseconds. */
export type SpokenCue = { text: string; startMs: number; endMs: number };

export type Fault =
  /** Not every word of the cue was heard in its place in the order. */
  | { kind: 'missing'; text: string; startMs: number; notHeard: string[] }
  /** Heard in order, but its first word began too early (below zero) or too late. */
  | { kind: 'misplaced'; text: string; startMs: number; offsetMs: number }
  /** Words that no cue accounts for. */
  | { kind: 'foreign'; text: string; startMs: number };

export type Comparison = {
  faults: Fault[];
  /** For each cue heard whole: start of its first word as heard, less the start in the script. */
  offsetsMs: number[];
};

/** Issue of the project, invariant A6: every cue is heard within a quarter of a second of its time. */
export const startToleranceMs = 250;
/** Two equal words further apart than this are not the same utterance. */
const farthestMatchMs = 5_000;

/** Holds what was heard against a script: all spoken cues, in order, each where it should be. */
export function compareWithScript(cues: readonly SpokenCue[], heard: readonly HeardWord[]): Comparison {
  const expected = cues.flatMap((cue, cueIndex) => {
    const words = wordsOf(cue.text);
    const stepMs = (cue.endMs - cue.startMs) / words.length;
    return words.map((word, i) => ({ word, cueIndex, startMs: cue.startMs + i * stepMs }));
  });
  const matches = alignInOrder(expected, heard);
  const faults: Fault[] = [];
  const offsetsMs: number[] = [];
  cues.forEach((cue, cueIndex) => {
    const own = matches.pairs.filter((_, i) => expected[i]?.cueIndex === cueIndex);
    const notHeard = expected.filter(
      (word, i) => word.cueIndex === cueIndex && matches.pairs[i] === undefined,
    );
    const first = own[0];
    if (notHeard.length > 0 || first === undefined) {
      faults.push({
        kind: 'missing',
        text: cue.text,
        startMs: cue.startMs,
        notHeard: notHeard.map((w) => w.word),
      });
      return;
    }
    const offsetMs = first.startMs - cue.startMs;
    offsetsMs.push(offsetMs);
    if (Math.abs(offsetMs) > startToleranceMs) {
      faults.push({ kind: 'misplaced', text: cue.text, startMs: cue.startMs, offsetMs });
    }
  });
  for (const word of matches.unmatched)
    faults.push({ kind: 'foreign', text: word.word, startMs: word.startMs });
  return { faults: faults.sort((a, b) => a.startMs - b.startMs), offsetsMs };
}

type Alignment = {
  /** The heard word of each expected one. */
  pairs: (HeardWord | undefined)[];
  unmatched: HeardWord[];
};

/**
 * The longest common subsequence of the words (Wagner and Fischer's dynamic programme), where of two equally
 * long ones the one with the smaller distances in time wins: a count of "two" then never borrows the "two" of
 * the next repetition.
 */
function alignInOrder(
  expected: readonly { word: string; startMs: number }[],
  heard: readonly HeardWord[],
): Alignment {
  const width = heard.length + 1;
  const best = new Float64Array((expected.length + 1) * width);
  const gain = (i: number, j: number): number => {
    const [want, got] = [expected[i], heard[j]];
    if (want === undefined || got === undefined || want.word !== got.word) return 0;
    const distanceMs = Math.abs(want.startMs - got.startMs);
    return distanceMs > farthestMatchMs ? 0 : 1 - distanceMs / (2 * farthestMatchMs);
  };
  const at = (i: number, j: number): number => best[i * width + j] ?? 0;
  for (let i = expected.length - 1; i >= 0; i--) {
    for (let j = heard.length - 1; j >= 0; j--) {
      const together = gain(i, j);
      const skip = Math.max(at(i + 1, j), at(i, j + 1));
      best[i * width + j] = together > 0 ? Math.max(skip, at(i + 1, j + 1) + together) : skip;
    }
  }
  const pairs: (HeardWord | undefined)[] = expected.map(() => undefined);
  const unmatched: HeardWord[] = [];
  let [i, j] = [0, 0];
  while (j < heard.length) {
    const got = heard[j];
    if (got === undefined) break;
    const together = gain(i, j);
    if (together > 0 && at(i, j) === at(i + 1, j + 1) + together) {
      pairs[i++] = got;
      j++;
    } else if (i < expected.length && at(i, j) === at(i + 1, j)) i++;
    else {
      unmatched.push(got);
      j++;
    }
  }
  return { pairs, unmatched };
}
