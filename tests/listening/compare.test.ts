import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compareWithScript } from './compare.js';
import { grammarOf, pronunciationsFrom, wordsMissingFrom } from './grammar.js';

const cues = [
  { text: 'And press.', startMs: 1_000, endMs: 1_800 },
  { text: 'five', startMs: 2_000, endMs: 2_500 },
  { text: 'four', startMs: 3_000, endMs: 3_500 },
];
const word = (text: string, startMs: number, joined = false) => ({ word: text, startMs, joined });
const whole = [word('and', 1_000), word('press', 1_300, true), word('five', 2_010), word('four', 3_020)];

describe('what was heard, held against the script', () => {
  it('finds no fault where there is none, and says how far off each cue began', () => {
    expect(compareWithScript(cues, whole)).toEqual({ faults: [], offsetsMs: [0, 10, 20] });
  });

  it('reports a cue of which one word is missing', () => {
    expect(compareWithScript(cues, whole.slice(1)).faults).toEqual([
      { kind: 'missing', text: 'And press.', startMs: 1_000, notHeard: ['and'] },
    ]);
  });

  it('reports a cue from 251 ms on, early or late', () => {
    const withFourAt = (startMs: number) =>
      compareWithScript(cues, [...whole.slice(0, 3), word('four', startMs)]);
    expect(withFourAt(3_250).faults).toEqual([]);
    expect(withFourAt(2_750).faults).toEqual([]);
    const late = { kind: 'misplaced', text: 'four', startMs: 3_000, offsetMs: 251 };
    expect(withFourAt(3_251).faults).toEqual([late]);
    expect(withFourAt(2_749).faults).toEqual([{ ...late, offsetMs: -251 }]);
  });

  it('reports two swapped cues: one is out of its place, the other missing there and foreign where it is', () => {
    const swapped = [...whole.slice(0, 2), word('four', 2_000), word('five', 3_000)];
    const kinds = compareWithScript(cues, swapped).faults.map(({ kind }) => kind);
    expect(kinds.sort()).toEqual(['foreign', 'misplaced', 'missing']);
  });

  it('reports a foreign word that stands alone, and takes one that runs into a cue as a part of it', () => {
    const alone = [...whole.slice(0, 3), word('nine', 2_600), word('four', 3_020)];
    expect(compareWithScript(cues, alone).faults).toEqual([
      { kind: 'foreign', text: 'nine', startMs: 2_600 },
    ]);
    const smeared = [...whole.slice(0, 3), word('nine', 2_980), word('four', 3_300, true)];
    expect(compareWithScript(cues, smeared)).toEqual({ faults: [], offsetsMs: [0, 10, -20] });
  });

  it('gives a repeated word to the repetition that it lies nearest to', () => {
    const counts = [1_000, 2_000, 3_000].map((startMs) => ({ text: 'two', startMs, endMs: startMs + 400 }));
    const { faults } = compareWithScript(counts, [word('two', 1_010), word('two', 3_010)]);
    expect(faults).toEqual([{ kind: 'missing', text: 'two', startMs: 2_000, notHeard: ['two'] }]);
  });
});

describe('what the listener is told', () => {
  it('holds every sentence once, without order or number, and nothing else', () => {
    const grammar = grammarOf(['Rest here. And press.', 'five', 'And rest here.', 'And press. And.']);
    expect(walksOf(grammar)).toEqual(['and', 'and press', 'and rest here', 'five', 'rest here']);
    // "rest here" is one path, also after "and".
    expect(grammar.match(/ here$/gm)).toHaveLength(1);
  });

  it('holds any sentences, by a walk through it', () => {
    const words = fc.array(fc.constantFrom('and', 'press', 'rest', 'here'), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(fc.uniqueArray(words, { minLength: 1, maxLength: 12, selector: String }), (sentences) => {
        const texts = sentences.map((sentence) => sentence.join(' '));
        expect(walksOf(grammarOf(texts))).toEqual(texts.sort());
      }),
    );
  });

  it('names the words that the dictionary lacks, and finds those that it has with every pronunciation', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'stillcount-dictionary-'));
    try {
      const dictionary = join(folder, 'words.dict');
      await writeFile(dictionary, 'and AE N D\nand(2) AH N D\npress P R EH S\n');
      expect(await wordsMissingFrom(dictionary, ['And press.', 'And glorp, Quux.'])).toEqual([
        'glorp',
        'quux',
      ]);
      expect(await pronunciationsFrom(dictionary, grammarOf(['And rest.']))).toBe(
        'and AE N D\nand(2) AH N D\n',
      );
    } finally {
      await rm(folder, { recursive: true, force: true });
    }
  });
});

/**
 * Every sentence that a grammar in the finite-state format of CMU Sphinx can hear, sorted. The first sentence and those
 * after it must be the same.
 */
function walksOf(grammar: string): string[] {
  const numberIn = (line: string) => Number(new RegExp(`^${line} (\\d+)$`, 'm').exec(grammar)?.[1]);
  const transitions = [...grammar.matchAll(/^TRANSITION (\d+) (\d+) 1\.0 (\S+)$/gm)].map(
    ([, from, to, word]) => ({ from: Number(from), to: Number(to), word }),
  );
  const last = numberIn('FINAL_STATE');
  const walksFrom = (state: number, said: readonly string[]): string[] =>
    transitions
      .filter(({ from }) => from === state)
      .flatMap(({ to, word = '' }) =>
        to === last ? [[...said, word].join(' ')] : walksFrom(to, [...said, word]),
      );
  const walks = walksFrom(numberIn('START_STATE'), []).sort();
  expect(walksFrom(last, []).sort()).toEqual(walks);
  expect(new Set(walks).size, 'each in one way only').toBe(walks.length);
  const states = new Set(transitions.flatMap(({ from, to }) => [from, to]));
  expect(states.size).toBe(numberIn('NUM_STATES'));
  return walks;
}
