/**
 * The grade of a text by Flesch and Kincaid (Kincaid, Fishburne, Rogers and Chissom 1975, Research Branch Report 8-75,
 * Naval Technical Training Command; formula from memory). Numbers are no words here; syllables are counted by their
 * vowels, as the formula's own programs do.
 *
 * @param sentences each on its own
 */
export function gradeOf(sentences: readonly string[]): number {
  const words = sentences.flatMap(wordsOf);
  const syllables = words.reduce((sum, word) => sum + syllablesOf(word), 0);
  return 0.39 * (words.length / sentences.length) + 11.8 * (syllables / words.length) - 15.59;
}

/** Sentences of a text that have words in them. */
export function sentencesOf(text: string): string[] {
  return text.split(/(?<=[.?!])\s+/).filter((sentence) => wordsOf(sentence).length > 0);
}

const wordsOf = (text: string): string[] => text.match(/[\p{L}]+(?:[’'][\p{L}]+)?/gu) ?? [];

export function syllablesOf(word: string): number {
  const plain = word.toLowerCase().replace(/[^a-z]/g, '');
  // A silent e at the end, also before s or d, except where it is heard: "table", "needed", "presses".
  const heard = plain
    .replace(/(?:[^aeiouyl]|[aeiouy]l)e$/, (end) => end.slice(0, -1))
    .replace(/([^aeiouytdszxcgh])e[sd]$/, '$1')
    .replace(/([^aeiouytd])ed$/, '$1');
  return Math.max(1, heard.match(/[aeiouy]+/g)?.length ?? 0);
}
