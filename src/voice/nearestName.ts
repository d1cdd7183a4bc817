/** The known name that needs the fewest changed letters, or null when none is near. */
export function nearestName(wanted: string, known: readonly string[]): string | null {
  let best: { name: string; distance: number } | null = null;
  for (const name of known) {
    const distance = editDistance(wanted.toLowerCase(), name.toLowerCase());
    if (best === null || distance < best.distance) best = { name, distance };
  }
  return best !== null && best.distance <= Math.max(2, best.name.length / 3) ? best.name : null;
}

/** Levenshtein distance: letters to insert, remove or replace (Levenshtein 1966). */
function editDistance(from: string, to: string): number {
  let row = Array.from({ length: to.length + 1 }, (_, index) => index);
  for (const [at, letter] of [...from].entries()) {
    const next = [at + 1];
    for (let column = 1; column <= to.length; column += 1) {
      const replaced = (row[column - 1] ?? 0) + (letter === to[column - 1] ? 0 : 1);
      next.push(Math.min(replaced, (row[column] ?? 0) + 1, (next[column - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[to.length] ?? 0;
}
