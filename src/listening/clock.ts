import { dayMs } from '../time/units.js';

/** How long a device's report may have lain there before it came; older ones are taken as that old. Our choice. */
export const longestAgeMs = 30 * dayMs;

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

/**
 * The longest that a report is on its way: its page gives up after 20 s and sends it again. Our choice, with some to
 * spare.
 */
const longestOnTheWayMs = 30_000;

/**
 * Puts what one device tells of one thing into the order in which it tells it. Each report is on its way for a time of
 * its own, so that {@link correctedAtMs} can put the later of two before the earlier: going on before the stop that
 * was a mistake. What lies further back than a report can be late is left where it is; it came from elsewhere.
 *
 * @param events in the order in which the device told them; `about` what they are about, `atMs` on the service's clock
 * @param newestAtMs of what was told of each thing before
 * @returns the moment of each, in the same order: as it was, or up to half a minute later
 */
export function orderReports(
  events: readonly { about: string; atMs: number }[],
  newestAtMs: ReadonlyMap<string, number>,
): number[] {
  const newest = new Map(newestAtMs);
  return events.map(({ about, atMs }) => {
    const beforeMs = newest.get(about) ?? Number.NEGATIVE_INFINITY;
    const isLate = atMs <= beforeMs && beforeMs - atMs < longestOnTheWayMs;
    const inOrderMs = isLate ? beforeMs + 1 : atMs;
    newest.set(about, Math.max(beforeMs, inOrderMs));
    return inOrderMs;
  });
}
