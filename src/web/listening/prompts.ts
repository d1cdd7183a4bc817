import { offeredSigns } from '../../followup/warningSigns.js';
import type { PromptKey } from '../../listening/plan.js';
import type { ShelvedSession } from '../../session/sessionShelf.js';
import { patientById } from '../../store/patients.js';
import { prescriptionsOf } from '../../store/prescriptions.js';
import type { Service } from '../service.js';
import { newestVersion } from './sessions.js';

/**
 * A sentence around a session, said to a patient in the voice of their running program; of their last one when none
 * runs, so that what to do in need can always be heard. Null when they never had a program.
 *
 * @throws StillcountError when the voice or the encoder fails
 */
export async function promptFor(
  service: Service,
  clinicId: string,
  { patientId, key }: { patientId: string; key: PromptKey },
): Promise<ShelvedSession | null> {
  const { store, shelf, workshop } = service;
  const found = await store.read(async (db) => {
    const patient = await patientById(db, clinicId, patientId);
    const prescriptions = await prescriptionsOf(db, clinicId, patientId);
    const running = prescriptions.find(({ state }) => state === 'active') ?? prescriptions[0];
    const newest = running === undefined ? null : await newestVersion(db, running, service);
    return patient === null || newest === null ? null : { patient, program: newest.read.program };
  });
  if (found === null) return null;
  const { spokenName, sayAs } = found.patient;
  const signs = offeredSigns(workshop.warningSigns)
    .map(({ words }) => `${words}.`)
    .join(' ');
  const listener = { name: spokenName, ...(sayAs === '' ? {} : { sayAs }) };
  return shelf.prompt({ ...found.program, listener }, workshop.prompts.say(key, { name: spokenName, signs }));
}
