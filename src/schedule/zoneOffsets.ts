import { zoneOf } from './zoneRules.js';

/** From an instant on, clocks in a zone are so far ahead of UTC. */
export type ZoneOffset = {
  /** Null for the first one, which holds from long before. */
  sinceMs: number | null;
  offsetSeconds: number;
};

/** How far clocks in a zone are ahead of UTC from one instant to another, and when that changes; at least one. */
export function zoneOffsetsIn(zone: string, fromMs: number, untilMs: number): ZoneOffset[] {
  const rules = zoneOf(zone);
  const changes = rules.changesBetween(fromMs, untilMs);
  return [
    { sinceMs: null, offsetSeconds: rules.offsetMsAt(fromMs) / 1_000 },
    ...changes.map(({ atMs, offsetMs }) => ({ sinceMs: atMs, offsetSeconds: offsetMs / 1_000 })),
  ];
}
