import { timetableSchema } from '../../prescription/content.js';
import type { Break, Rhythm } from '../../schedule/slots.js';
import type { Db } from '../../store/openStore.js';
import type { Patient } from '../../store/patients.js';
import { prescriptionsOf, versionsOf } from '../../store/prescriptions.js';

/** A program that is to be done, and when. */
export type RunningProgram = { id: string; title: string; rhythm: Rhythm; reviewOn: string | null };

/** The programs of a patient that run, as their newest versions say. */
export async function runningPrograms(
  db: Db,
  { id, clinicId, zone }: Pick<Patient, 'id' | 'zone'> & { clinicId: string },
  breaks: readonly Break[],
): Promise<RunningProgram[]> {
  const running: RunningProgram[] = [];
  for (const { id: prescriptionId, title, state } of await prescriptionsOf(db, clinicId, id)) {
    if (state !== 'active') continue;
    const [newest] = await versionsOf(db, prescriptionId);
    if (newest === undefined) continue;
    const { reviewOn, ...timetable } = timetableSchema.parse(JSON.parse(newest.content));
    running.push({ id: prescriptionId, title, reviewOn, rhythm: { ...timetable, zone, breaks } });
  }
  return running;
}
