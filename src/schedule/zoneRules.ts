import { Temporal } from 'temporal-polyfill';
import { hourMs } from '../time/units.js';
import type { ClockChange } from './posixZone.js';
import { TabledZone, type ZoneTable } from './zoneTable.js';

/**
 * The rules by which local times are computed in every zone. This room does not read files: the caller finds the newest
 * release of the IANA data and passes its zone tables in once, when the process starts. Without tables, Node's own data
 * are used.
 */

/** The rules of one zone. */
export type Zone = Pick<TabledZone, 'offsetMsAt' | 'changesBetween'>;

/** All tables of a release, by zone name. */
export type ZoneTables = ReadonlyMap<string, ZoneTable>;

let tables: ZoneTables | null = null;
let exactNames = new Map<string, string>();
let zones = new Map<string, Zone>();

/**
 * Sets the zone tables to use from now on.
 *
 * @param handedIn null to use Node's own
 */
export function useZoneTables(handedIn: ZoneTables | null): void {
  tables = handedIn;
  exactNames = new Map([...(handedIn?.keys() ?? [])].map((name) => [name.toLowerCase(), name]));
  zones = new Map();
}

/**
 * Returns an object that is replaced with every {@link useZoneTables}; anything computed under another one is no longer
 * valid.
 */
export function zoneRulesVersion(): object {
  return zones;
}

/**
 * Returns a zone by the rules in use, or by Node's where those do not include it. Names are case-insensitive.
 *
 * @throws RangeError for a zone that does not exist
 */
export function zoneOf(name: string): Zone {
  const known = zones.get(name);
  if (known !== undefined) return known;
  const table = tables?.get(name) ?? tables?.get(exactNames.get(name.toLowerCase()) ?? '');
  const zone = table === undefined ? nodeZone(name) : new TabledZone(table);
  zones.set(name, zone);
  return zone;
}

/**
 * The form of IANA zone names. Without this check, the zone parser would also accept a date and time that contains a
 * zone.
 */
const zoneName = /^[A-Za-z][\w+-]*(\/[\w+-]+)*$/;

/** Returns whether there is a zone with this name; offsets such as +01:00 are not zones. */
export function isZone(name: string): boolean {
  if (!zoneName.test(name)) return false;
  try {
    zoneOf(name);
    return true;
  } catch {
    return false;
  }
}

/** Returns a zone by Node's own data. @throws RangeError for a zone that Node does not know */
export function nodeZone(name: string): Zone {
  const at = (atMs: number) => Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(name);
  // Compute one offset right away, so that an unknown name is rejected here.
  at(0);
  const offsetMsAt = (atMs: number) => at(atMs).offsetNanoseconds / 1_000_000;
  return {
    offsetMsAt,
    changesBetween: (afterMs, untilMs) => {
      const found: ClockChange[] = [];
      let offsetMs = offsetMsAt(afterMs);
      for (let fromMs = afterMs; fromMs < untilMs; fromMs += 24 * hourMs) {
        const beforeMs = offsetMs;
        offsetMs = offsetMsAt(Math.min(fromMs + 24 * hourMs, untilMs));
        // Search only nearby: for a zone that never changes, an unlimited search would go through decades.
        const change = offsetMs === beforeMs ? null : at(fromMs).getTimeZoneTransition('next');
        if (change !== null) {
          found.push({ atMs: change.epochMilliseconds, offsetMs: change.offsetNanoseconds / 1_000_000 });
        }
      }
      return found;
    },
  };
}
