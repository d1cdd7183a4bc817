import { Temporal } from 'temporal-polyfill';
import { hourMs } from '../time/units.js';
import type { ClockChange } from './posixZone.js';
import { TabledZone, type ZoneTable } from './zoneTable.js';

/**
 * By which clocks are worked out in every zone. Which release of the IANA data is the newest is found where files may
 * be read; the tables of its zones are handed in once, when a process begins. Without any, Node's own are used.
 */

/** What is known of one zone. */
export type Zone = Pick<TabledZone, 'offsetMsAt' | 'changesBetween'>;

/** All tables of a release by the name of their zone. */
export type ZoneTables = ReadonlyMap<string, ZoneTable>;

let tables: ZoneTables | null = null;
let exactNames = new Map<string, string>();
let zones = new Map<string, Zone>();

/** @param handedIn null for those of Node */
export function useZoneTables(handedIn: ZoneTables | null): void {
  tables = handedIn;
  exactNames = new Map([...(handedIn?.keys() ?? [])].map((name) => [name.toLowerCase(), name]));
  zones = new Map();
}

/** Changes with every {@link useZoneTables}: what was worked out under another mark no longer holds. */
export function zoneRulesVersion(): object {
  return zones;
}

/**
 * A zone by the rules in force; by those of Node where they do not name it. Case does not matter in its name.
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

/** As the IANA data name zones. What reads zones would also take one out of a date with a time. */
const zoneName = /^[A-Za-z][\w+-]*(\/[\w+-]+)*$/;

/** Whether there is a zone of this name; offsets such as +01:00 are none. */
export function isZone(name: string): boolean {
  if (!zoneName.test(name)) return false;
  try {
    zoneOf(name);
    return true;
  } catch {
    return false;
  }
}

/** A zone by the data that Node brings. @throws RangeError for a zone that it does not know */
export function nodeZone(name: string): Zone {
  const at = (atMs: number) => Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(name);
  // Asked at once, so that an unknown name is refused here.
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
        // Asked for from near by only: from afar, a zone that never changes is searched for decades.
        const change = offsetMs === beforeMs ? null : at(fromMs).getTimeZoneTransition('next');
        if (change !== null) {
          found.push({ atMs: change.epochMilliseconds, offsetMs: change.offsetNanoseconds / 1_000_000 });
        }
      }
      return found;
    },
  };
}
