import { endAccessKey, makeAccessKey } from '../../store/accounts/accessKeys.js';
import { auditActor } from '../../store/accounts/audit.js';
import type { Actor } from '../actor.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { hashToken, newToken } from '../tokens.js';

/**
 * Makes a key with which another program acts on behalf of the actor.
 *
 * @param mayWrite never more than the actor may
 * @returns the key itself, which cannot be read again
 */
export async function makeKey(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  { name, mayWrite }: { name: string; mayWrite: boolean },
): Promise<string> {
  const token = newToken();
  const key = { tokenHash: hashToken(token), clinicianId: actor.clinician.id, name };
  await store.write(async (db) => {
    const id = await makeAccessKey(db, { ...key, mayWrite: mayWrite && actor.mayWrite, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId: null, subject: id, action: 'access-key-made' });
  });
  return token;
}

/** @throws Refused if the actor has no such key */
export async function endKey({ store }: Pick<Resources, 'store'>, actor: Actor, id: string): Promise<void> {
  await store.write(async (db) => {
    if (!(await endAccessKey(db, actor.clinician.id, { id, nowMs: actor.nowMs }))) {
      throw refused('no-such-key');
    }
    await auditActor(db, actor, { patientId: null, subject: id, action: 'access-key-ended' });
  });
}
