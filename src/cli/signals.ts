/** The shell's number for a program that a signal ended: 128 and the signal's own. */
const exitCodes = { SIGHUP: 129, SIGINT: 130, SIGTERM: 143 } as const;

/** A terminal and npm may each hand on what was one wish. */
const sameWishMs = 500;

const lookEveryMs = 250;

let askToStop: (() => void) | null = null;
let askedAtMs: number | null = null;

/**
 * Decides what signals do in this process: it leaves at once, through exit, so that partial files are removed; a
 * command that has taken them is asked to stop first, and left at the next signal.
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

/** Takes the signals for a command that has something to finish. @returns settles with the first of them */
export function interceptSignals(): Promise<void> {
  return new Promise((resolve) => {
    askToStop = resolve;
    watchNpm(resolve);
  });
}

/** npm ends the shell between it and this process by a signal, which that shell does not hand on. */
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

/** Whether a command goes on when no one reads what it prints, or its terminal is closed. */
export function survivesClosedOutput(): boolean {
  return askToStop !== null;
}
