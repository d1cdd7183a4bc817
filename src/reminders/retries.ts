const [firstMs, longestMs] = [30_000, 15 * 60_000];

/** The longest wait of a delivery for its next attempt. */
export const longestWaitMs = longestMs * 1.5;

/**
 * When to retry after a failure: after half a minute, doubling each time up to a quarter of an hour, with up to half of
 * it added or removed at random, so that many do not come back at the same time. Null if that would be too late.
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
