import { readFile } from 'node:fs/promises';
import { sentencesOf, wordsOf } from './words.js';

/** Where listening begins, and where it is after each whole sentence. */
const [start, afterSentence] = [0, 1];

/**
 * A grammar in the finite-state format of CMU Sphinx: any of the sentences, in any order and number, no way through them
 * likelier than another. It says which sentences exist, never which one comes next, so that a missing, swapped or foreign
 * one shows.
 *
 * Sentences share what they begin and end with. The recognizer visits every state for every 10 ms of sound, and has half
 * as many of them as where each sentence stands alone.
 */
export function grammarOf(texts: readonly string[]): string {
  const sentences = new Set(texts.flatMap(sentencesOf).map((sentence) => wordsOf(sentence).join(' ')));
  const transitions: string[] = [];
  const states = new Map<string, number>();

  /** The state from which exactly these endings of sentences can be heard. */
  const stateBefore = (endings: readonly string[]): number => {
    const key = endings.join('\n');
    const known = states.get(key);
    if (known !== undefined) return known;
    const state = afterSentence + 1 + states.size;
    states.set(key, state);
    leadOn(state, endings);
    return state;
  };

  const leadOn = (from: number, endings: readonly string[]): void => {
    const rests = new Map<string, string[]>();
    for (const ending of endings) {
      const [word = '', ...rest] = ending.split(' ');
      rests.set(word, [...(rests.get(word) ?? []), rest.join(' ')]);
    }
    for (const [word, after] of rests) {
      const further = after.filter((rest) => rest !== '');
      const leadTo = (to: number) => transitions.push(`TRANSITION ${from} ${to} 1.0 ${word}`);
      if (further.length < after.length) leadTo(afterSentence);
      if (further.length > 0) leadTo(stateBefore(further));
    }
  };

  for (const state of [start, afterSentence]) leadOn(state, [...sentences].sort());
  return [
    'FSG_BEGIN heard',
    `NUM_STATES ${afterSentence + 1 + states.size}`,
    `START_STATE ${start}`,
    `FINAL_STATE ${afterSentence}`,
    ...transitions,
    'FSG_END\n',
  ].join('\n');
}

/** The words of the texts that a pronouncing dictionary of the CMU form lacks, each once, sorted. */
export async function wordsMissingFrom(dictionaryFile: string, texts: readonly string[]): Promise<string[]> {
  const lines = (await readFile(dictionaryFile, 'utf8')).split('\n');
  const known = new Set(lines.map((line) => line.slice(0, line.indexOf(' '))));
  return [...new Set(texts.flatMap(wordsOf))].filter((word) => !known.has(word)).sort();
}

/** The lines of a pronouncing dictionary of the CMU form for the words of a grammar, each with all its pronunciations. */
export async function pronunciationsFrom(dictionaryFile: string, grammar: string): Promise<string> {
  const words = new Set([...grammar.matchAll(/^TRANSITION \d+ \d+ \S+ (\S+)$/gm)].map(([, word]) => word));
  const lines = (await readFile(dictionaryFile, 'utf8')).split('\n');
  const isWanted = (line: string) => words.has(line.slice(0, line.indexOf(' ')).replace(/\(\d+\)$/, ''));
  return `${lines.filter(isWanted).join('\n')}\n`;
}
