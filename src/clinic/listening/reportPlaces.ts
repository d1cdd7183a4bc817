import type { Plan } from '../../listening/plan.js';
import { type Prescription, prescriptionsOf } from '../../store/people/chart.js';
import type { Resources } from '../resources/resources.js';
import type { Listener } from './listener.js';

/** The version of a program that a report refers to, as the fields of a report name it. */
export type ReportPlace = {
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  slot: string;
};

/** No plan has this many sessions on one day, so a report filed here is not taken for a report of any of them. */
const placeOfNoSession = 99;

/**
 * Where reports go for patients with no planned session because their program is being checked, paused or ended: to the
 * newest program, active ones first. It has no entry for patients who have a session or never had a program.
 */
export async function reportPlaces(
  { store }: Pick<Resources, 'store'>,
  { clinicId }: Pick<Listener, 'clinicId'>,
  { people }: Pick<Plan, 'people'>,
): Promise<ReadonlyMap<string, ReportPlace>> {
  const places = new Map<string, ReportPlace>();
  for (const { id, day } of people.filter(({ sessions }) => sessions.length === 0)) {
    const [newest] = byState(await store.read((db) => prescriptionsOf(db, clinicId, id)));
    if (newest === undefined) continue;
    places.set(id, {
      prescriptionId: newest.id,
      versionNumber: newest.newestVersion,
      sessionNumber: 1,
      slot: `${day}#${placeOfNoSession}`,
    });
  }
  return places;
}

/** Active first, then paused, then ended; newest first within each. */
function byState<Program extends Pick<Prescription, 'state'>>(programs: readonly Program[]): Program[] {
  const states = ['active', 'paused', 'ended'] as const;
  return states.flatMap((state) => programs.filter((program) => program.state === state));
}
