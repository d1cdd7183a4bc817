import { RateLimiterMemory } from 'rate-limiter-flexible';
import { hashToken } from '../tokens.js';

const windowSeconds = 15 * 60;
const mostTriesAnAccount = 10;
const mostTriesAPlace = 40;

/**
 * Rule PERM-9: how often a secret may be tried (OWASP Authentication Cheat Sheet, from memory: throttle by account,
 * and by origin more widely).
 */
export type SignInLimits = {
  /**
   * Counts an attempt to use a password, a code or a link.
   *
   * @param account whose secret it is; null for a link, which has no account yet
   * @returns whether it may proceed
   */
  mayTry(account: string | null, place: string): Promise<boolean>;
  /** After a success the account's attempts no longer count. */
  forget(account: string): Promise<void>;
};

export function openSignInLimits(): SignInLimits {
  const accounts = new RateLimiterMemory({ points: mostTriesAnAccount, duration: windowSeconds });
  const places = new RateLimiterMemory({ points: mostTriesAPlace, duration: windowSeconds });
  // Of fixed size, however long the input, and stored only for origins below their limit, so memory stays small.
  const keyOf = (account: string) => hashToken(account.toLowerCase());
  return {
    async mayTry(account, place) {
      if (!(await isAllowed(places, placeKey(place)))) return false;
      return account === null || isAllowed(accounts, keyOf(account));
    },
    async forget(account) {
      await accounts.delete(keyOf(account));
    },
  };
}

/** Anyone with one IPv6 address has a whole /64. */
export function placeKey(place: string): string {
  if (!place.includes(':') || place.includes('.')) return place;
  // Written in short or long form, an address means the same origin (RFC 4291, section 2.2).
  const [front = '', back] = place.split('::');
  const groups = front.split(':').filter((group) => group !== '');
  const tail = back === undefined ? [] : back.split(':').filter((group) => group !== '');
  const zeros = Array.from({ length: Math.max(0, 8 - groups.length - tail.length) }, () => '0');
  return [...groups, ...zeros, ...tail]
    .slice(0, 4)
    .map((group) => Number.parseInt(group, 16).toString(16))
    .join(':');
}

/** Counts one attempt or several. @returns whether it may proceed */
export async function isAllowed(limiter: RateLimiterMemory, key: string, points = 1): Promise<boolean> {
  try {
    await limiter.consume(key, points);
    return true;
  } catch (usedUp) {
    // A limiter at its limit rejects with its state, which is not an error.
    if (usedUp instanceof Error) throw usedUp;
    return false;
  }
}
