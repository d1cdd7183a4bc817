import { readFile } from 'node:fs/promises';
import { sentencesOf, wordsOf } from './words.js';

/**
 * A grammar in JSpeech Grammar Format (W3C Note, 5 June 2000): any of the sentences, in any order and number.
 * It says which sentences exist, never which one comes next, so that a missing, swapped or foreign one shows.
 */
export function grammarOf(texts: readonly string[]): string {
  const sentences = new Set(texts.flatMap(sentencesOf).map((sentence) => wordsOf(sentence).join(' ')));
  const alternatives = [...sentences].sort().join('\n  | ');
  return `#JSGF V1.0;\ngrammar session;\npublic <heard> = <sentence>+;\n<sentence> =\n    ${alternatives};\n`;
}

/** The words of the texts that a pronouncing dictionary of the CMU form lacks, each once, sorted. */
export async function wordsMissingFrom(dictionaryFile: string, texts: readonly string[]): Promise<string[]> {
  const lines = (await readFile(dictionaryFile, 'utf8')).split('\n');
  const known = new Set(lines.map((line) => line.slice(0, line.indexOf(' '))));
  return [...new Set(texts.flatMap(wordsOf))].filter((word) => !known.has(word)).sort();
}
