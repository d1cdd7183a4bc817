/** Returns the seconds that each of five runs takes, sorted; the third is the median. */
export async function secondsOfFive(work: () => Promise<unknown>): Promise<number[]> {
  const seconds: number[] = [];
  for (let run = 0; run < 5; run += 1) seconds.push(await secondsOf(work));
  return seconds.sort((a, b) => a - b);
}

export async function secondsOf(work: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await work();
  return (performance.now() - start) / 1000;
}

export function median(sorted: readonly number[]): number {
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}
