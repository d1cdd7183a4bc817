/** How long a device's report may have lain there before it came; older ones are taken as that old. Our choice. */
export const longestAgeMs = 30 * 86_400_000;

/**
 * When something happened on the service's clock, from three readings, so that what a device's clock is wrong by, be
 * it hours or years, falls out: as long before `receivedAtMs` as it was before sending. Never later than received,
 * and at most {@link longestAgeMs} earlier: a device whose clock was set in between would put it anywhere.
 *
 * @param atMs of the event, on the device's clock
 * @param sentAtMs of sending it, on the same clock
 * @param receivedAtMs of its coming, on the service's clock
 */
export function correctedAtMs(atMs: number, sentAtMs: number, receivedAtMs: number): number {
  const ageMs = Math.min(Math.max(0, sentAtMs - atMs), longestAgeMs);
  return receivedAtMs - ageMs;
}
