import type { Db } from '../store/engine/openStore.js';
import { patientsByZone } from '../store/service/zoneRelease.js';
import type { ZoneData, ZoneSource } from '../zones/zoneData.js';
import { type Finding, ok, warning } from './check.js';

const origins: Record<ZoneSource, string> = {
  stillcount: 'which comes with Stillcount',
  node: 'of Node.js',
  system: 'of this computer',
};

/**
 * Reports which release of the time zone data reminders use, whether it is recent, and whether other releases differ.
 */
export async function checkZones({
  zoneData,
  read,
  now,
}: {
  zoneData: () => Promise<ZoneData>;
  read: <Result>(work: (db: Db) => Promise<Result>) => Promise<Result>;
  now: () => number;
}): Promise<Finding> {
  const zones = await zoneData();
  const used = `IANA release ${zones.used.release}, ${origins[zones.used.from]}`;
  const update = 'update Stillcount, or the time zone data of this computer (package tzdata)';
  if (zones.isOldAt(now())) {
    return warning(`${used}, is more than six months old: reminders may be an hour off`, update);
  }
  const patients = await read((db) => patientsByZone(db, null));
  const differences = await zones.differencesOf([...patients.keys()], now());
  if (differences.length === 0) return ok(used);
  const others = differences.map(({ release, from, zones: differing }) => {
    const count = differing.reduce((sum, zone) => sum + (patients.get(zone) ?? 0), 0);
    return `release ${release}, ${origins[from]}, has different clock changes for ${differing.join(', ')} (patients: ${count})`;
  });
  return warning(
    `${used}, is in use; ${others.join('; ')}`,
    'update the older ones, so that all show the same times',
  );
}
