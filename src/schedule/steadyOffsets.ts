import { dayMs } from '../time/units.js';
import { zoneOf, zoneRulesVersion } from './zoneRules.js';

/** Enough for about a hundred zones over several months; then the cache is cleared. */
const mostKnown = 60_000;

/**
 * Offsets from UTC at the start of each day, by zone and by UTC day since 1970, under the rules of the current version.
 */
const known = new Map<string, Map<number, number>>();
let knownCount = 0;
let knownBy = zoneRulesVersion();

/**
 * Returns how far clocks in a zone are ahead of UTC throughout the UTC day of an instant, in milliseconds; null when
 * that changes during the day. A change that is reversed within the same day would be missed; the IANA data have none.
 *
 * @throws RangeError for a zone that does not exist
 */
export function steadyOffsetAt(atMs: number, zone: string): number | null {
  const day = Math.floor(atMs / dayMs);
  const offsetMs = offsetAtStart(day, zone);
  return offsetMs === offsetAtStart(day + 1, zone) ? offsetMs : null;
}

/**
 * Like {@link steadyOffsetAt}, for the UTC day together with the day before and the day after, so that it covers any
 * local time.
 */
export function steadyOffsetAround(atMs: number, zone: string): number | null {
  const offsetMs = steadyOffsetAt(atMs, zone);
  const isSteady =
    steadyOffsetAt(atMs - dayMs, zone) === offsetMs && steadyOffsetAt(atMs + dayMs, zone) === offsetMs;
  return isSteady ? offsetMs : null;
}

function offsetAtStart(day: number, zone: string): number {
  if (knownBy !== zoneRulesVersion()) forget();
  let days = known.get(zone);
  const found = days?.get(day);
  if (found !== undefined) return found;
  const offsetMs = zoneOf(zone).offsetMsAt(day * dayMs);
  if (knownCount >= mostKnown) {
    forget();
    days = undefined;
  }
  if (days === undefined) {
    days = new Map();
    known.set(zone, days);
  }
  days.set(day, offsetMs);
  knownCount += 1;
  return offsetMs;
}

function forget(): void {
  known.clear();
  knownCount = 0;
  knownBy = zoneRulesVersion();
}
