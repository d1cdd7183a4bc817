import { dayMs } from '../time/units.js';

/** The longest age a device's report can have on arrival; older ones count as this old. Our choice. */
export const longestAgeMs = 30 * dayMs;

/**
 * Converts an event's time from a device's clock to the service's clock. The event was as long before `receivedAtMs` as
 * it was before sending, so an error of the device's clock cancels out, whether hours or years. The result is never
 * later than `receivedAtMs` and at most {@link longestAgeMs} earlier, because a device whose clock was set in between
 * could put the event anywhere.
 *
 * @param atMs time of the event on the device's clock
 * @param sentAtMs time of sending on the same clock
 * @param receivedAtMs time of arrival on the service's clock
 */
export function correctedAtMs(atMs: number, sentAtMs: number, receivedAtMs: number): number {
  const ageMs = Math.min(Math.max(0, sentAtMs - atMs), longestAgeMs);
  return receivedAtMs - ageMs;
}

/**
 * The longest a report is in transit: the page gives up after 20 s and sends it again. Our choice, with some to spare.
 */
const longestOnTheWayMs = 30_000;

/**
 * Keeps the reports of one device about one subject in the order in which the device made them. Transit times differ,
 * so {@link correctedAtMs} can put the later of two reports before the earlier: for example a resume before the
 * accidental stop that it follows. An event that is earlier by more than a report can be late is left where it is,
 * because it came from another device.
 *
 * @param events in the order in which the device reported them; `about` is their subject, `atMs` is on the service's
 *   clock
 * @param newestAtMs time of the newest earlier report about each subject
 * @returns the time of each event, in the same order: unchanged, or up to half a minute later
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
