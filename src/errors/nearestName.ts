import { distance } from 'fastest-levenshtein';

/** Returns the known name with the smallest edit distance, ignoring case; undefined if none is close enough. */
export function nearestName(name: string, known: readonly string[]): string | undefined {
  const ranked = known
    .map((candidate) => ({ candidate, changes: distance(name.toLowerCase(), candidate.toLowerCase()) }))
    .sort((a, b) => a.changes - b.changes);
  const [best] = ranked;
  if (best === undefined) return undefined;
  return best.changes <= Math.max(2, Math.floor(best.candidate.length / 3)) ? best.candidate : undefined;
}
