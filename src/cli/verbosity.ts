type Volume = 'quiet' | 'usual' | 'verbose';

let volume: Volume = 'usual';

/** How much a command tells beside its results and its errors. */
export function setVerbosity({ quiet, verbose }: { quiet?: unknown; verbose?: unknown }): void {
  volume = quiet === true ? 'quiet' : verbose === true ? 'verbose' : 'usual';
}

/** Whether only results and errors are wanted. */
export function isQuiet(): boolean {
  return volume === 'quiet';
}

/** Lines beside the result, which no one needs who asked for results alone. */
export function printInfo(...lines: readonly string[]): void {
  if (volume !== 'quiet' && lines.length > 0) process.stdout.write(`${lines.join('\n')}\n`);
}

/** What was done and how long it took, on the error output, for whoever asked for it. */
export function printTiming(done: string, ms: number): void {
  if (volume !== 'verbose') return;
  process.stderr.write(`${done}: ${ms < 1000 ? `${Math.round(ms)} ms` : `${(ms / 1000).toFixed(1)} s`}\n`);
}

/**
 * Does a part of a command's work and tells how long it took, also when it fails. @param what as in "read the program"
 */
export async function withTiming<Result>(what: string, work: () => Promise<Result>): Promise<Result> {
  const startedAt = performance.now();
  try {
    const result = await work();
    printTiming(what, performance.now() - startedAt);
    return result;
  } catch (error) {
    printTiming(`failed to ${what}`, performance.now() - startedAt);
    throw error;
  }
}
