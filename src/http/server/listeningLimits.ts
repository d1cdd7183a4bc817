import { RateLimiterMemory } from 'rate-limiter-flexible';
import { isAllowed, placeKey } from '../../clinic/resources/signInLimits.js';

const minute = 60;
const hour = 60 * minute;

/** How often links, codes, PINs and reports of listeners may be sent. Our choice of numbers, no source. */
export type ListeningLimits = {
  /**
   * Counts an address that does not exist; guessing 256 bits is hopeless, but this keeps the log and the database
   * quiet.
   */
  mayMissLink(place: string): Promise<boolean>;
  /** Counts a typed code. A right one is not counted: a whole household may type theirs on one morning. */
  mayTryCode(place: string): Promise<boolean>;
  forgiveCode(place: string): Promise<void>;
  /** Counts a typed PIN of one link. Wrong ones are also counted permanently, where the link is stored. */
  mayTryPin(linkId: string): Promise<boolean>;
  /**
   * Counts reported items from the devices of one link. A session produces about forty; a phone resends what was not
   * accepted.
   */
  mayReport(linkId: string, items: number): Promise<boolean>;
  /** Warning signs have a separate budget, so that none waits behind anything else. */
  mayWarn(linkId: string): Promise<boolean>;
  /** Counts how often the devices of one link turn reminders on or off, or ask whether they are on. */
  mayAskForPush(linkId: string): Promise<boolean>;
};

export function openListeningLimits(): ListeningLimits {
  const misses = new RateLimiterMemory({ points: 300, duration: 15 * minute });
  const codes = new RateLimiterMemory({ points: 15, duration: 15 * minute });
  const pins = new RateLimiterMemory({ points: 6, duration: hour });
  const reports = new RateLimiterMemory({ points: 2_000, duration: hour });
  const warnings = new RateLimiterMemory({ points: 60, duration: hour });
  const pushes = new RateLimiterMemory({ points: 120, duration: hour });
  return {
    mayMissLink: (place) => isAllowed(misses, placeKey(place)),
    mayTryCode: (place) => isAllowed(codes, placeKey(place)),
    forgiveCode: async (place) => {
      await codes.reward(placeKey(place));
    },
    mayTryPin: (linkId) => isAllowed(pins, linkId),
    mayReport: (linkId, items) => isAllowed(reports, linkId, items),
    mayWarn: (linkId) => isAllowed(warnings, linkId),
    mayAskForPush: (linkId) => isAllowed(pushes, linkId),
  };
}
