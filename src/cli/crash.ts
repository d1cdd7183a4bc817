import { causeOf, traceOf } from '../errors/cause.js';

/** How a command handles an uncaught error before the process ends. */
export type OnCrash = (error: unknown) => Promise<void>;

let onCrash: OnCrash | null = null;
let isCrashing = false;

/**
 * Decides what an uncaught error does in this process. A command that intercepts such errors cleans up as much as it
 * can, and the process waits for it: a service logs and stores the error within 2 s, then stops as far as 8 s allow
 * (`service/start.ts`). Without such a command, the error is reported in one line. Then the process exits with 1; at a
 * second uncaught error it exits at once. It never goes on, because its state is unknown. The error's message is not
 * printed, because it can hold anything; only the parts that cannot name a person are.
 */
export function exitOnCrash(): void {
  const crash = async (error: unknown) => {
    // A second error while it is exiting ends the process at once.
    if (isCrashing) process.exit(1);
    isCrashing = true;
    try {
      if (onCrash === null) tellCrash(error);
      else await onCrash(error);
    } finally {
      process.exit(1);
    }
  };
  process.on('uncaughtException', crash);
  process.on('unhandledRejection', crash);
}

/** Intercepts uncaught errors for a command that has something to clean up. */
export function interceptCrashes(handle: OnCrash): void {
  onCrash = handle;
}

function tellCrash(error: unknown): void {
  const trace = traceOf(error);
  const where = trace === '' ? '' : ` (${trace})`;
  process.stderr.write(
    `Something went wrong unexpectedly: ${causeOf(typeof error === 'string' ? undefined : error)}${where}\n`,
  );
}
