type Volume = 'quiet' | 'usual' | 'verbose';

let volume: Volume = 'usual';

/** Sets how much a command prints besides its results and errors. */
export function setVerbosity({ quiet, verbose }: { quiet?: unknown; verbose?: unknown }): void {
  volume = quiet === true ? 'quiet' : verbose === true ? 'verbose' : 'usual';
}

/** Returns whether only results and errors are wanted. */
export function isQuiet(): boolean {
  return volume === 'quiet';
}

/** Prints lines that go with the result; `--quiet` hides them. */
export function printInfo(...lines: readonly string[]): void {
  if (volume !== 'quiet' && lines.length > 0) process.stdout.write(`${lines.join('\n')}\n`);
}

/** Prints a step and how long it took to the error output, with `--verbose`. */
export function printTiming(done: string, ms: number): void {
  if (volume !== 'verbose') return;
  process.stderr.write(`${done}: ${ms < 1000 ? `${Math.round(ms)} ms` : `${(ms / 1000).toFixed(1)} s`}\n`);
}

/**
 * Runs a step of a command and prints how long it took, even if it fails. @param what as in "read the program"
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
