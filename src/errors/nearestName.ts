import { closest, distance } from 'fastest-levenshtein';

/** The nearest of the known names, when it is near enough to be what was meant. */
export function nearestName(name: string, known: readonly string[]): string | undefined {
  if (known.length === 0) return undefined;
  const nearest = closest(name, known);
  return distance(name, nearest) <= Math.max(2, Math.floor(name.length / 3)) ? nearest : undefined;
}
