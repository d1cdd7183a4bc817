/**
 * Spells words the way the voice says them right: whole words or groups of words, whatever their case, longest
 * first, each place once. Of two entries for one word the later one counts, so a patient's list is spread over
 * the language's: `{ ...language, ...patient }`.
 */
export function applyPronunciations(text: string, list: Readonly<Record<string, string>>): string {
  const spellings = new Map<string, string>();
  for (const [word, spelling] of Object.entries(list)) {
    if (word.trim() !== '') spellings.set(word.trim().toLowerCase(), spelling);
  }
  if (spellings.size === 0) return text;
  const words = [...spellings.keys()].sort((a, b) => b.length - a.length || (a < b ? -1 : 1)).map(literally);
  const anyWord = new RegExp(
    `(?<![\\p{L}\\p{M}\\p{N}])(?:${words.join('|')})(?![\\p{L}\\p{M}\\p{N}])`,
    'giu',
  );
  return text.replace(anyWord, (found) => spellings.get(found.toLowerCase()) ?? found);
}

function literally(word: string): string {
  return word.replace(/[\\^$.*+?()[\]{}|/]/g, '\\$&');
}
