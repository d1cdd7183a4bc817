import { errorCodeOf } from '../../files/fileProblem.js';

/** PostgreSQL, Appendix A: deadlock_detected. */
const deadlockDetected = '40P01';
const mostTries = 12;

/**
 * Runs a transaction, and again when the server gave it up because it and another one waited for each other: nothing of
 * it was kept then. For the rare one that has to lock what others lock in another order.
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
