import { auditActor } from '../../store/accounts/audit.js';
import { setWantsDigest } from '../../store/accounts/clinicians.js';
import type { Db } from '../../store/engine/openStore.js';
import { addContact, contactsOf } from '../../store/people/contacts.js';
import type { Actor } from '../actor.js';
import type { Resources } from '../resources/resources.js';

/** Turns the actor's weekly summary on or off; read-only members may have it too. */
export async function setDigestSubscription(
  { store, reminderSecrets }: Pick<Resources, 'store' | 'reminderSecrets'>,
  actor: Actor,
  wants: boolean,
): Promise<void> {
  const { id } = actor.clinician;
  await store.write(async (db) => {
    await setWantsDigest(db, id, wants);
    if (wants) await standAgain(db, reminderSecrets, actor);
    const action = wants ? 'digest-begun' : 'digest-ended';
    await auditActor(db, actor, { patientId: null, subject: id, action });
  });
}

/** Retries an address that bounced, because its owner asks for it. */
async function standAgain(
  db: Db,
  { unsubscribeHashOf }: Resources['reminderSecrets'],
  { clinician: { id, clinicId, email }, nowMs }: Actor,
): Promise<void> {
  const owner = { clinicianId: id };
  const address = JSON.stringify(email.toLowerCase());
  const own = (await contactsOf(db, clinicId, owner)).filter((each) => each.address === address);
  if (own.length === 0) return;
  await addContact(db, { clinicId, owner, channel: 'mail', address, unsubscribeHashOf, nowMs });
}
