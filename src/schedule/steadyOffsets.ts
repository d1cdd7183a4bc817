import { dayMs } from '../time/units.js';
import { zoneOf, zoneRulesVersion } from './zoneRules.js';

/** Some hundred zones over some months; then it begins again. */
const mostKnown = 60_000;

/** By zone and day of UTC since 1970: how far clocks are ahead at its beginning, by the rules of the mark. */
const known = new Map<string, Map<number, number>>();
let knownCount = 0;
let knownBy = zoneRulesVersion();

/**
 * How far clocks in a zone are ahead of UTC on all of a day of UTC, in milliseconds; null when that changes on it. A
 * change that is taken back within the same day would be missed; there is none in the IANA data.
 *
 * @throws RangeError for a zone that does not exist
 */
export function steadyOffsetAt(atMs: number, zone: string): number | null {
  const day = Math.floor(atMs / dayMs);
  const offsetMs = offsetAtStart(day, zone);
  return offsetMs === offsetAtStart(day + 1, zone) ? offsetMs : null;
}

/** The same for a day of UTC together with the one before and the one after, so that any local time is within. */
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
