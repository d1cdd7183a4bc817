import { AsyncLocalStorage } from 'node:async_hooks';
import { randomInt } from 'node:crypto';

/** No letter that looks like a digit or another letter, in print or by hand. */
const alphabet = '23456789ABCDEFGHJKMNPQRSTUVWXYZ';
const groups = 3;
const groupLength = 4;

const current = new AsyncLocalStorage<string>();

/**
 * A reference by which one request, or one piece of work, is found in the log, for example `K7M4-P2XR-TQ9D`: short
 * enough to be read aloud over the phone, and with 59 bits met twice by no one. It opens nothing.
 */
export function newRequestId(): string {
  const group = () => Array.from({ length: groupLength }, () => alphabet[randomInt(alphabet.length)] ?? '');
  return Array.from({ length: groups }, () => group().join('')).join('-');
}

/** Does work under a request id: whatever the work logs, also later, carries it. */
export function withRequestId<Result>(requestId: string, work: () => Result): Result {
  return current.run(requestId, work);
}

/** The id of the request that is being answered; null for work that no request asked for. */
export function currentRequestId(): string | null {
  return current.getStore() ?? null;
}
