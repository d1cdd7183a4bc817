/** A word with a time in milliseconds. */
export type TimedWord = { word: string; startMs: number };

/** Two equal words further apart than this are not the same utterance. */
const farthestMatchMs = 5_000;

/**
 * The longest common subsequence of two lists of words (Wagner and Fischer's dynamic programme), where of two
 * equally long ones the one with the smaller distances in time wins: a count of "two" then never borrows the
 * "two" of the next repetition.
 *
 * @returns for each expected word the index of the heard one, or undefined
 */
export function alignInOrder(
  expected: readonly TimedWord[],
  heard: readonly TimedWord[],
): (number | undefined)[] {
  const width = heard.length + 1;
  const best = new Float64Array((expected.length + 1) * width);
  const at = (i: number, j: number): number => best[i * width + j] ?? 0;
  for (let i = expected.length - 1; i >= 0; i--) {
    for (let j = heard.length - 1; j >= 0; j--) {
      const together = gain(expected[i], heard[j]);
      const apart = Math.max(at(i + 1, j), at(i, j + 1));
      best[i * width + j] = together > 0 ? Math.max(apart, at(i + 1, j + 1) + together) : apart;
    }
  }
  const pairs: (number | undefined)[] = expected.map(() => undefined);
  let [i, j] = [0, 0];
  while (i < expected.length && j < heard.length) {
    const together = gain(expected[i], heard[j]);
    if (together > 0 && at(i, j) === at(i + 1, j + 1) + together) pairs[i++] = j++;
    else if (at(i, j) === at(i + 1, j)) i++;
    else j++;
  }
  return pairs;
}

function gain(expected: TimedWord | undefined, heard: TimedWord | undefined): number {
  if (expected === undefined || heard === undefined || expected.word !== heard.word) return 0;
  const distanceMs = Math.abs(expected.startMs - heard.startMs);
  return distanceMs > farthestMatchMs ? 0 : 1 - distanceMs / (2 * farthestMatchMs);
}
