import { AsyncLocalStorage } from 'node:async_hooks';
import { randomInt } from 'node:crypto';

/** Without letters that look like a digit or another letter, in print or by hand. */
const alphabet = '23456789ABCDEFGHJKMNPQRSTUVWXYZ';
const groups = 3;
const groupLength = 4;

const current = new AsyncLocalStorage<string>();

/**
 * Returns a reference for finding one request, or one job, in the log, for example `K7M4-P2XR-TQ9D`: short enough to
 * read aloud over the phone, and with 59 bits never seen twice in practice. It grants no access.
 */
export function newRequestId(): string {
  const group = () => Array.from({ length: groupLength }, () => alphabet[randomInt(alphabet.length)] ?? '');
  return Array.from({ length: groups }, () => group().join('')).join('-');
}

/** Runs work under a request id: everything that the work logs, even later, carries it. */
export function withRequestId<Result>(requestId: string, work: () => Result): Result {
  return current.run(requestId, work);
}

/** The id of the current request; null for work outside a request. */
export function currentRequestId(): string | null {
  return current.getStore() ?? null;
}
