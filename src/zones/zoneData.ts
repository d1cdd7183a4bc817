import { nodeZone, useZoneTables, type Zone } from '../schedule/zoneRules.js';
import { TabledZone } from '../schedule/zoneTable.js';
import { dayMs } from '../time/units.js';
import { type KeptZones, readKeptZones } from './keptZones.js';
import { findSystemZones, readSystemZone, readSystemZones, type SystemZones } from './systemZones.js';

export const zoneSources = ['stillcount', 'node', 'system'] as const;
export type ZoneSource = (typeof zoneSources)[number];

/** A release of the IANA time zone data, such as 2026d, and its source. */
type ZoneRelease = { from: ZoneSource; release: string };

/** Zones whose clocks differ within the coming year between another release and the one in use. */
type ZoneDifference = ZoneRelease & { zones: string[] };

export type ZoneData = {
  /** The release that every time is computed with: the newest of all. */
  used: ZoneRelease;
  /** Whether it is certainly more than six months old. */
  isOldAt(nowMs: number): boolean;
  /** Whether the system has installed a newer one since. */
  isOutdated(): Promise<boolean>;
  /** Returns which of these zones differ between the release in use and any other one found here. */
  differencesOf(zones: readonly string[], nowMs: number): Promise<ZoneDifference[]>;
};

export type ZoneDataOptions = {
  /** The system's folders; the default ones or that of TZDIR when left out. */
  folders?: readonly string[] | undefined;
  /** Node's release. */
  nodeRelease?: string;
  /** The release that ships with Stillcount. */
  kept?: KeptZones;
};

const monthMs = 30 * dayMs;

/**
 * Finds the newest release among those of Stillcount, Node and the system, and uses it to compute every time from now
 * on. Called once, when a process starts.
 *
 * @throws StillcountError kind `work` if Stillcount's own data is damaged
 */
export async function openZoneData({ folders, nodeRelease, kept }: ZoneDataOptions = {}): Promise<ZoneData> {
  const own = kept ?? (await readKeptZones());
  const system = await findSystemZones(folders);
  const node = nodeRelease ?? process.versions.tz ?? '';
  const releases: ZoneRelease[] = [
    { from: 'stillcount', release: own.release },
    { from: 'node', release: node },
    ...(system === null ? [] : [{ from: 'system' as const, release: system.release }]),
  ];
  // Between equal releases, the first wins: it is the same everywhere.
  const used = releases.reduce((best, each) => (isNewer(each.release, best.release) ? each : best));
  const others = releases.filter((each) => each !== used && each.release !== '');
  const readFrom = sourceReaders(own, system);
  // A system may lack old names, which then come from the next source.
  const under = isNewer(own.release, node) ? own.tables : [];
  if (used.from === 'node') useZoneTables(null);
  else if (used.from === 'stillcount' || system === null) useZoneTables(own.tables);
  else useZoneTables(new Map([...under, ...(await readSystemZones(system.folder))]));
  const releasedByMs = latestDay(used, own, system);
  const known = new Map<string, boolean>();

  async function differs({ from }: ZoneRelease, name: string, nowMs: number): Promise<boolean> {
    const key = `${from} ${name} ${Math.floor(nowMs / monthMs)}`;
    const found = known.get(key);
    if (found !== undefined) return found;
    const [mine, other] = [await readFrom(used.from, name), await readFrom(from, name)];
    // A zone that is missing from one of the two comes from Node.
    const isOther = mine !== null && other !== null && clocksOf(mine, nowMs) !== clocksOf(other, nowMs);
    known.set(key, isOther);
    return isOther;
  }

  return {
    used,
    isOldAt: (nowMs) => nowMs > releasedByMs + 183 * dayMs,
    isOutdated: async () => isNewer((await findSystemZones(folders))?.release ?? '', used.release),
    differencesOf: async (zones, nowMs) => {
      const found: ZoneDifference[] = [];
      for (const other of others) {
        const differing: string[] = [];
        for (const zone of zones) if (await differs(other, zone, nowMs)) differing.push(zone);
        if (differing.length > 0) found.push({ ...other, zones: differing });
      }
      return found;
    },
  };
}

/** A release is named by its year and a letter, or two letters after z. */
export function isNewer(release: string, than: string): boolean {
  const [year, otherYear] = [release.slice(0, 4), than.slice(0, 4)];
  if (year !== otherYear) return year > otherYear;
  return release.length === than.length ? release > than : release.length > than.length;
}

/** The end of the release's year at the latest, or earlier if this or a newer release has a known date. */
function latestDay({ release, from }: ZoneRelease, own: KeptZones, system: SystemZones | null): number {
  const yearEndMs = Date.UTC(Number(release.slice(0, 4)) + 1, 0, 1);
  if (Number.isNaN(yearEndMs)) return 0;
  if (from === 'system' && system !== null) return Math.min(yearEndMs, system.releasedByMs);
  return isNewer(release, own.release) ? yearEndMs : Math.min(yearEndMs, own.releasedByMs);
}

function sourceReaders(own: KeptZones, system: SystemZones | null) {
  return async (from: ZoneSource, name: string): Promise<Zone | null> => {
    if (from === 'node') return nodeZoneOrNull(name);
    const table =
      from === 'stillcount'
        ? (own.tables.get(name) ?? null)
        : system === null
          ? null
          : await readSystemZone(system.folder, name);
    return table === null ? null : new TabledZone(table);
  };
}

function nodeZoneOrNull(name: string): Zone | null {
  try {
    return nodeZone(name);
  } catch {
    return null;
  }
}

/** Describes the clock changes of the coming year, for comparing them. */
function clocksOf(zone: Zone, nowMs: number): string {
  return JSON.stringify([zone.offsetMsAt(nowMs), zone.changesBetween(nowMs, nowMs + 366 * dayMs)]);
}
