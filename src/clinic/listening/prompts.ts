import { offeredSigns } from '../../followup/warningSigns.js';
import type { PromptKey } from '../../listening/plan.js';
import type { ShelvedSession } from '../../session/renderedSessionStore.js';
import { patientById, prescriptionsOf, versionsOf } from '../../store/people/chart.js';
import type { Resources } from '../resources/resources.js';
import type { Listener } from './listener.js';

/**
 * A prompt around a session, spoken to a patient in the voice of their active program. If none is active or known
 * today, the voice of an earlier version or of another program is used, so that emergency instructions can always be
 * heard, even while a program cannot be played. It contains nothing about an exercise. Null if they never had a
 * program, and for a patient this link is not for.
 *
 * @throws StillcountError if the voice or the encoder fails
 */
export async function promptFor(
  { store, shelf, versions, workshop }: Pick<Resources, 'store' | 'workshop' | 'shelf' | 'versions'>,
  listener: Pick<Listener, 'clinicId' | 'linkId' | 'patients'>,
  { patientId, key }: { patientId: string; key: PromptKey },
): Promise<ShelvedSession | null> {
  const { clinicId, patients } = listener;
  if (!patients.some((each) => each.patientId === patientId)) return null;
  const found = await store.read(async (db) => {
    const patient = await patientById(db, clinicId, patientId);
    if (patient === null) return null;
    const prescriptions = await prescriptionsOf(db, clinicId, patientId);
    const running = prescriptions.filter(({ state }) => state === 'active');
    for (const { id } of [...running, ...prescriptions]) {
      for (const version of await versionsOf(db, id)) {
        const { shown } = versions.kept(id, version);
        if (shown !== null) return { patient, program: shown.program };
      }
    }
    return null;
  });
  if (found === null) return null;
  const { spokenName, sayAs } = found.patient;
  const signs = offeredSigns(workshop.warningSigns)
    .map(({ words }) => `${words}.`)
    .join(' ');
  const named = { name: spokenName, ...(sayAs === '' ? {} : { sayAs }) };
  const text = workshop.prompts.say(key, { name: spokenName, signs });
  return shelf.prompt(listener, { ...found.program, listener: named }, text);
}
