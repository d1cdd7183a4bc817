const [firstMs, longestMs] = [30_000, 15 * 60_000];

/** The longest time that a delivery can wait for its next attempt. */
export const longestWaitMs = longestMs * 1.5;

/**
 * When something that did not work is tried again: after half a minute, then after twice as long each time up to a
 * quarter of an hour, each half shorter or longer by chance, so that many do not come back at the same moment. Null
 * when that would be too late for what it is good for.
 *
 * @param attempts made so far, at least 1
 * @param random from 0 to 1
 */
export function nextAttemptMs(
  { attempts, nowMs, goodUntilMs }: { attempts: number; nowMs: number; goodUntilMs: number },
  random: () => number,
): number | null {
  const waitMs = Math.min(longestMs, firstMs * 2 ** (attempts - 1)) * (0.5 + random());
  const nextMs = Math.round(nowMs + waitMs);
  return nextMs < goodUntilMs ? nextMs : null;
}
