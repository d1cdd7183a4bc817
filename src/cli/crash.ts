import { causeOf, traceOf } from '../errors/cause.js';

/** What a command does about an error that no one has caught, before it ends. */
export type OnCrash = (error: unknown) => Promise<void>;

let onCrash: OnCrash | null = null;
let isCrashing = false;

/**
 * Decides what an error that no one has caught does in this process. The command that has taken such errors does what
 * can still be done, and the process waits for it: a service logs and keeps the error within 2 s, then stops as far as
 * 8 s allow (`service/start.ts`). Where none has, the error is told in one line. Then the process ends with 1, and
 * at the next such error at once. It never goes on: no one knows what state it is in. What the error says is not
 * told, because it may hold anything; what is known to hold nothing about a person is.
 */
export function exitOnCrash(): void {
  const crash = async (error: unknown) => {
    // An error on the way out ends it at once.
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

/** Takes such errors for a command that has something to put in order. */
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
