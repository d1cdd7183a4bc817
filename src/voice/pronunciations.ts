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

/**
 * Spells a name the way it is said, wherever it stands as written: "May" is changed, "you may stand" is not.
 */
export function applyNames(text: string, list: Readonly<Record<string, string>>): string {
  return Object.entries(list).reduce(
    (changed, [name, spelling]) =>
      changed.replace(
        new RegExp(`(?<![\\p{L}\\p{M}\\p{N}])${literally(name)}(?![\\p{L}\\p{M}\\p{N}])`, 'gu'),
        () => spelling,
      ),
    text,
  );
}
