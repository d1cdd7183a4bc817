import type { Plan } from '../../listening/plan.js';
import { type Prescription, prescriptionsOf } from '../../store/prescribing/prescriptions.js';
import type { Resources } from '../resources/resources.js';
import type { Listener } from './listener.js';

/** Which version of a program something is reported about, as the fields of a report name it. */
export type ReportPlace = {
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  slot: string;
};

/** No plan gives a day so many sessions: what is reported there passes for the report of none of them. */
const placeOfNoSession = 99;

/**
 * Where reports go of people who have no session planned, because their program is being checked, paused or ended: to
 * the newest program, running ones first. Nobody stands in it who has a session, or never had a program.
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

/** Running ones first, then paused, then ended; within each the newest first, as they come. */
function byState<Program extends Pick<Prescription, 'state'>>(programs: readonly Program[]): Program[] {
  const states = ['active', 'paused', 'ended'] as const;
  return states.flatMap((state) => programs.filter((program) => program.state === state));
}
