/** The shell's exit code for a program that was ended by a signal: 128 plus the signal's number. */
const exitCodes = { SIGHUP: 129, SIGINT: 130, SIGTERM: 143 } as const;

/** A terminal and npm may each pass on the same interrupt. */
const sameWishMs = 500;

const lookEveryMs = 250;

let askToStop: (() => void) | null = null;
let askedAtMs: number | null = null;

/**
 * Decides what signals do in this process: it exits at once, so that partial files are removed; a command that
 * intercepts signals is asked to stop first, and the next signal ends it.
 */
export function handleSignals(): void {
  for (const [signal, exitCode] of Object.entries(exitCodes)) {
    process.on(signal, () => {
      const nowMs = performance.now();
      if (askToStop === null) process.exit(exitCode);
      if (askedAtMs === null) {
        askedAtMs = nowMs;
        askToStop();
      } else if (nowMs - askedAtMs > sameWishMs) process.exit(exitCode);
    });
  }
}

/** Intercepts the signals for a command that has something to finish. @returns settles with the first signal */
export function interceptSignals(): Promise<void> {
  return new Promise((resolve) => {
    askToStop = resolve;
    watchNpm(resolve);
  });
}

/**
 * Watches npm, because npm ends the shell between it and this process by a signal, and that shell does not pass it on.
 */
function watchNpm(onGone: () => void): void {
  if (process.env.npm_command === undefined) return;
  const parent = process.ppid;
  const looking = setInterval(() => {
    if (process.ppid === parent) return;
    clearInterval(looking);
    askedAtMs ??= performance.now();
    onGone();
  }, lookEveryMs);
  looking.unref();
}

/** Returns whether a command keeps running when its output is closed or its terminal goes away. */
export function survivesClosedOutput(): boolean {
  return askToStop !== null;
}
