import { RateLimiterMemory } from 'rate-limiter-flexible';
import { isAllowed, placeKey } from './limits.js';

const minute = 60;
const hour = 60 * minute;

/** How often links, codes and PINs of listeners may be tried. Our choice of numbers, no source. */
export type ListeningLimits = {
  /** Counts an address that does not exist; guessing 256 bits is hopeless, this keeps the log and the database quiet. */
  mayMissLink(place: string): Promise<boolean>;
  /** Counts a typed code, by place and over all. */
  mayTryCode(place: string): Promise<boolean>;
  /** Counts a typed PIN of one link: a PIN of four digits then stands for weeks, and the link can be replaced. */
  mayTryPin(linkId: string): Promise<boolean>;
  forgetPin(linkId: string): Promise<void>;
};

export function openListeningLimits(): ListeningLimits {
  const misses = new RateLimiterMemory({ points: 300, duration: 15 * minute });
  const codes = new RateLimiterMemory({ points: 15, duration: 15 * minute });
  const allCodes = new RateLimiterMemory({ points: 2_000, duration: 15 * minute });
  const pins = new RateLimiterMemory({ points: 6, duration: hour });
  return {
    mayMissLink: (place) => isAllowed(misses, placeKey(place)),
    mayTryCode: async (place) => (await isAllowed(codes, placeKey(place))) && isAllowed(allCodes, 'all'),
    mayTryPin: (linkId) => isAllowed(pins, linkId),
    forgetPin: async (linkId) => {
      await pins.delete(linkId);
    },
  };
}
