/**
 * Respells words so that the voice pronounces them correctly: whole words or groups of words, case-insensitive, longest
 * first, each place once. If a word has two entries the later one wins, so a patient's list is spread over the
 * language's: `{ ...language, ...patient }`.
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
 * Respells a name as it is pronounced, wherever it occurs with the same capitals: "May" is changed, "you may stand" is
 * not.
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
