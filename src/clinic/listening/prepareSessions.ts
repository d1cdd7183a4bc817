import { promptKeys } from '../../listening/plan.js';
import { linkOf } from '../../store/listening/listeningLinks.js';
import { Refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import type { Listener } from './listener.js';
import type { PlaybackResources } from './notPlayable.js';
import { planFor } from './planFor.js';
import { promptFor } from './prompts.js';
import { playableProgram } from './sessions.js';

/** The resources for rendering sessions ahead of time. */
export type PreparationResources = Pick<
  Resources,
  | 'store'
  | 'workshop'
  | 'shelf'
  | 'lengths'
  | 'versions'
  | 'reminderSecrets'
  | 'channelNames'
  | 'life'
  | 'incidents'
  | 'now'
>;

const mostSessionsAhead = 2;

/**
 * Renders what will soon be played, so that the voice starts as soon as it is requested: the next sessions of each
 * patient, then the prompts around them. No request waits for it, and it never fails: what could not be rendered is
 * rendered on request.
 */
export function prepareSessions(service: PreparationResources, listener: Listener): Promise<void> {
  const [patient, ...others] = listener.patients;
  const patientId = others.length === 0 ? (patient?.patientId ?? null) : null;
  return quietly(service, patientId, () => makeFor(service, listener));
}

/** The same for a patient whose program has just been signed, if they have a listening link. */
export function prepareSessionsFor(
  service: PreparationResources,
  clinicId: string,
  patientId: string,
): Promise<void> {
  return quietly(service, patientId, async () => {
    const nowMs = service.now();
    const link = await service.store.read((db) => linkOf(db, clinicId, { patientId }, nowMs));
    if (link === null) return;
    const patients = [{ patientId, caregiverId: null }];
    await makeFor(service, { linkId: link.id, clinicId, owner: { patientId }, isCaregiver: false, patients });
  });
}

async function makeFor(
  service: PlaybackResources &
    Pick<Resources, 'store' | 'shelf' | 'reminderSecrets' | 'channelNames' | 'now'>,
  listener: Listener,
): Promise<void> {
  const { people } = await planFor(service, listener);
  const patientIds = people.map(({ id }) => id);
  for (const { id, sessions } of people) {
    const open = sessions.filter(({ state }) => state === 'due' || state === 'later' || state === 'begun');
    for (const session of open.slice(0, mostSessionsAhead)) {
      const playable = await playableProgram(service, { clinicId: listener.clinicId, patientIds }, session);
      if (playable !== null) await service.shelf.session(listener, playable.program);
    }
    for (const key of promptKeys) await promptFor(service, listener, { patientId: id, key });
  }
}

async function quietly(
  { incidents, life }: Pick<Resources, 'life' | 'incidents'>,
  patientId: string | null,
  work: () => Promise<void>,
): Promise<void> {
  try {
    await work();
  } catch (error) {
    // A stopping service renders nothing more; a patient with much pending work is served on request.
    if (!life.isStopping && !(error instanceof Refused && error.kind === 'wait'))
      incidents.report({ code: 'session-not-made', error, patientId });
  }
}
