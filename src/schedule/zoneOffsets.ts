import { zoneOf } from './zoneRules.js';

/** From this instant on, clocks in a zone are this far ahead of UTC. */
export type ZoneOffset = {
  /** Null for the first one, which has no known start. */
  sinceMs: number | null;
  offsetSeconds: number;
};

/**
 * Returns how far clocks in a zone are ahead of UTC from one instant to another, and when that changes; at least one
 * entry.
 */
export function zoneOffsetsIn(zone: string, fromMs: number, untilMs: number): ZoneOffset[] {
  const rules = zoneOf(zone);
  const changes = rules.changesBetween(fromMs, untilMs);
  return [
    { sinceMs: null, offsetSeconds: rules.offsetMsAt(fromMs) / 1_000 },
    ...changes.map(({ atMs, offsetMs }) => ({ sinceMs: atMs, offsetSeconds: offsetMs / 1_000 })),
  ];
}
