import { offeredSigns } from '../../followup/warningSigns.js';
import type { PromptKey } from '../../listening/plan.js';
import type { ShelvedSession, Whose } from '../../session/sessionShelf.js';
import { patientById } from '../../store/people/patients.js';
import { prescriptionsOf, versionsOf } from '../../store/prescribing/prescriptions.js';
import type { Resources } from '../resources/resources.js';

/**
 * A sentence around a session, said to a patient in the voice of their running program; of an earlier version or another
 * one of theirs when none runs or is known today, so that what to do in need can always be heard, also while a program
 * cannot be played. Nothing of an exercise is in it.
 * Null when they never had one.
 *
 * @throws StillcountError when the voice or the encoder fails
 */
export async function promptFor(
  { store, shelf, versions, workshop }: Pick<Resources, 'store' | 'workshop' | 'shelf' | 'versions'>,
  whose: Whose,
  { patientId, key }: { patientId: string; key: PromptKey },
): Promise<ShelvedSession | null> {
  const { clinicId } = whose;
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
  const listener = { name: spokenName, ...(sayAs === '' ? {} : { sayAs }) };
  const said = workshop.prompts.say(key, { name: spokenName, signs });
  return shelf.prompt(whose, { ...found.program, listener }, said);
}
