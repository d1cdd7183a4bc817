import { RateLimiterMemory } from 'rate-limiter-flexible';

const windowSeconds = 15 * 60;
const mostTriesAnAccount = 10;
const mostTriesAPlace = 40;

/** How often a sign-in may be tried (OWASP Authentication Cheat Sheet, from memory: throttle by account, and by origin more widely). */
export type SignInLimits = {
  /** Counts a try. @returns whether it may go on */
  mayTry(account: string, place: string): Promise<boolean>;
  /** After a success the account's tries no longer count. */
  forget(account: string): Promise<void>;
};

export function openSignInLimits(): SignInLimits {
  const accounts = new RateLimiterMemory({ points: mostTriesAnAccount, duration: windowSeconds });
  const places = new RateLimiterMemory({ points: mostTriesAPlace, duration: windowSeconds });
  return {
    async mayTry(account, place) {
      const tries = [accounts.consume(account.toLowerCase()), places.consume(place)];
      // A limiter that is used up rejects with its state.
      const results = await Promise.allSettled(tries);
      return results.every(({ status }) => status === 'fulfilled');
    },
    async forget(account) {
      await accounts.delete(account.toLowerCase());
    },
  };
}
