import { errorCodeOf } from '../../files/fileProblem.js';

/** PostgreSQL, Appendix A: deadlock_detected. */
const deadlockDetected = '40P01';
const mostTries = 12;

/**
 * Runs a transaction, and retries it if the server aborted it because of a deadlock: nothing of it was stored then. For
 * the rare one that has to lock in a different order than others.
 */
export async function againAfterDeadlock<Result>(transact: () => Promise<Result>): Promise<Result> {
  for (let tries = 1; ; tries += 1) {
    try {
      return await transact();
    } catch (error) {
      if (tries === mostTries || errorCodeOf(error) !== deadlockDetected) throw error;
    }
  }
}
