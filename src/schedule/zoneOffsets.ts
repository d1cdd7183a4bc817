import { Temporal } from 'temporal-polyfill';

/** From an instant on, clocks in a zone are so far ahead of UTC. */
export type ZoneOffset = {
  /** Null for the first one, which holds from long before. */
  sinceMs: number | null;
  offsetSeconds: number;
};

/** How far clocks in a zone are ahead of UTC from one instant to another, and when that changes; at least one. */
export function zoneOffsetsIn(zone: string, fromMs: number, untilMs: number): ZoneOffset[] {
  let at = Temporal.Instant.fromEpochMilliseconds(fromMs).toZonedDateTimeISO(zone);
  const found: ZoneOffset[] = [{ sinceMs: null, offsetSeconds: secondsOf(at) }];
  while (at.epochMilliseconds < untilMs) {
    const next = at.add({ hours: 24 });
    // Asked for from near by only: from afar, a zone that never changes is searched for decades.
    const change = secondsOf(next) === secondsOf(at) ? null : at.getTimeZoneTransition('next');
    if (change !== null) found.push({ sinceMs: change.epochMilliseconds, offsetSeconds: secondsOf(change) });
    at = next;
  }
  return found;
}

function secondsOf(at: Temporal.ZonedDateTime): number {
  return at.offsetNanoseconds / 1_000_000_000;
}
