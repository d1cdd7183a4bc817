import { z } from 'zod';
import { endAccountLinksBy } from '../../store/accounts/accountLinks.js';
import { addAuditEntry, auditActor } from '../../store/accounts/audit.js';
import { isEmailTaken } from '../../store/accounts/clinicians.js';
import { endAccount, inviteColleague, joinClinic } from '../../store/accounts/colleagues.js';
import { endAllSignIns } from '../../store/accounts/signInSessions.js';
import { roles } from '../../store/schema/accountsSchema.js';
import { dayMs } from '../../time/units.js';
import { type Actor, requireOwner } from '../actor.js';
import { Refused, refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { hashToken, newToken } from '../tokens.js';
import { emailSchema, emailTaken, requiredText } from '../values.js';
import { hashPassword, passwordSchema } from './passwords.js';

const linkLastsMs = 7 * dayMs;

/** The details that a new colleague enters to join a clinic. */
export const joiningSchema = z.object({
  name: requiredText(200),
  email: emailSchema,
  password: passwordSchema,
});

/**
 * Invites a colleague with a one-time link.
 *
 * @param requestedRole the role as sent
 * @returns the token in the link
 * @throws Refused for everyone but an owner, and for a role that does not exist
 */
export async function inviteToTeam(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  requestedRole: string,
): Promise<string> {
  requireOwner(actor);
  const role = roles.find((each) => each === requestedRole);
  if (role === undefined) throw refused('no-such-role', { field: 'role', allowed: roles.join(', ') });
  const token = newToken();
  const { clinicId } = actor.clinician;
  await store.write(async (db) => {
    const times = { nowMs: actor.nowMs, expiresAtMs: actor.nowMs + linkLastsMs };
    await inviteColleague(db, { tokenHash: hashToken(token), clinicId, role, ...times });
    await auditActor(db, actor, { patientId: null, subject: role, action: 'colleague-invited' });
  });
  return token;
}

/**
 * Closes a colleague's account and ends all of its sign-ins and links.
 *
 * @throws Refused for everyone but an owner, for the actor's own account, and if the clinic has no such account
 */
export async function endColleague(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  colleagueId: string,
): Promise<void> {
  requireOwner(actor);
  const { nowMs } = actor;
  const { clinicId, id } = actor.clinician;
  if (colleagueId === id) throw refused('own-account');
  await store.write(async (db) => {
    if (!(await endAccount(db, clinicId, { clinicianId: colleagueId, nowMs }))) {
      throw refused('no-such-account');
    }
    await endAllSignIns(db, colleagueId);
    await endAccountLinksBy(db, colleagueId, nowMs);
    await auditActor(db, actor, { patientId: null, subject: colleagueId, action: 'account-ended' });
  });
}

/**
 * Creates a colleague's account and uses up the invitation.
 *
 * @returns `closed` if the invitation no longer works
 * @throws Refused if another account has this address
 */
export async function joinTeam(
  { store }: Pick<Resources, 'store'>,
  { token, joining, nowMs }: { token: string; joining: z.infer<typeof joiningSchema>; nowMs: number },
): Promise<'joined' | 'closed'> {
  const { name, email, password } = joining;
  const passwordHash = await hashPassword(password);
  return store.write(async (db) => {
    if (await isEmailTaken(db, email)) throw new Refused([emailTaken]);
    const account = await joinClinic(db, { name, email, tokenHash: hashToken(token), passwordHash, nowMs });
    if (account === null) return 'closed';
    const entry = { ...account, patientId: null, subject: account.clinicianId, atMs: nowMs };
    await addAuditEntry(db, { ...entry, action: 'colleague-joined' });
    return 'joined';
  });
}
