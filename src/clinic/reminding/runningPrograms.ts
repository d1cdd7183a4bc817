import { timetablesSince } from '../../prescription/content.js';
import { type Break, type Rhythm, rhythmOf } from '../../schedule/slots.js';
import type { Db } from '../../store/engine/openStore.js';
import { type Patient, prescriptionsOf, versionsOf } from '../../store/people/chart.js';

/** A program that is due, and when. */
export type RunningProgram = { id: string; title: string; rhythm: Rhythm; reviewOn: string | null };

/** A patient's active programs, from their newest versions. */
export async function runningPrograms(
  db: Db,
  { id, clinicId, zone }: Pick<Patient, 'id' | 'zone'> & { clinicId: string },
  breaks: readonly Break[],
): Promise<RunningProgram[]> {
  const running: RunningProgram[] = [];
  for (const { id: prescriptionId, title, state } of await prescriptionsOf(db, clinicId, id)) {
    if (state !== 'active') continue;
    const timetables = timetablesSince(await versionsOf(db, prescriptionId), 0);
    const rhythm = rhythmOf(timetables, { zone, breaks });
    const reviewOn = timetables[0]?.timetable.reviewOn ?? null;
    if (rhythm !== null) running.push({ id: prescriptionId, title, reviewOn, rhythm });
  }
  return running;
}
