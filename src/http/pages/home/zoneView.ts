import type { Role } from '../../../store/schema/accountsSchema.js';
import { patientsByZone } from '../../../store/service/zoneRelease.js';
import type { HttpResources } from '../../server/resources.js';

/** The time zone rules a clinic uses; and for its owners, reasons not to rely on them. */
export async function zoneView(
  { zoneData, store, words, now }: Pick<HttpResources, 'store' | 'words' | 'zoneData' | 'now'>,
  { clinicId, role }: { clinicId: string; role: Role },
): Promise<object> {
  const nowMs = now();
  const { release, from } = zoneData.used;
  const shown = { release, from: words.zoneSources[from] };
  if (role !== 'owner') return { ...shown, hasWarning: false };
  const patients = await store.read((db) => patientsByZone(db, clinicId));
  const isOld = zoneData.isOldAt(nowMs);
  const differences = await zoneData.differencesOf([...patients.keys()], nowMs);
  return {
    ...shown,
    isOld,
    hasWarning: isOld || differences.length > 0,
    differences: differences.map((each) => ({
      release: each.release,
      from: words.zoneSources[each.from],
      zones: each.zones.map((zone) => `${zone} (${count(patients.get(zone) ?? 0)})`).join(', '),
      used: release,
    })),
  };
}

function count(patients: number): string {
  return patients === 1 ? '1 patient' : `${patients} patients`;
}
