import { notifyOfAccountChange } from '../../reminders/accountNews.js';
import { type AccountLink, consumeAccountLink, saveAccountLink } from '../../store/accounts/accountLinks.js';
import { addAuditEntry, auditActor } from '../../store/accounts/audit.js';
import { setPassword } from '../../store/accounts/clinicians.js';
import { colleaguesOf } from '../../store/accounts/colleagues.js';
import { endAllSignIns } from '../../store/accounts/signInSessions.js';
import { dayMs } from '../../time/units.js';
import { type Actor, requireOwner } from '../actor.js';
import { refused } from '../refusals.js';
import { hashToken, newToken } from '../tokens.js';
import type { AccountNewsResources, AccountResources } from './account.js';
import { sendsMail } from './account.js';
import { hashPassword } from './passwords.js';
import { clearSecondStep } from './secondStep.js';

/** How long a link for a new password works. */
export const accountLinkMs = dayMs;

/**
 * Makes a one-time link with which a team member sets a new password. Nothing changes until it is used; they are
 * notified by email.
 *
 * @returns the token in the link, which cannot be read again, and the member it is for
 * @throws Refused for everyone but an owner, and for an account that does not exist, is closed, or is the owner's own
 */
export async function makePasswordLink(
  service: AccountNewsResources,
  actor: Actor,
  { colleagueId, clearsSecondStep }: { colleagueId: string; clearsSecondStep: boolean },
): Promise<{ token: string; name: string }> {
  requireOwner(actor);
  const { clinicId, id: madeById } = actor.clinician;
  const { nowMs } = actor;
  const token = newToken();
  return service.store.write(async (db) => {
    const colleague = (await colleaguesOf(db, clinicId)).find(({ id }) => id === colleagueId);
    if (colleague === undefined || colleague.endedAtMs !== null || colleague.id === madeById) {
      throw refused('no-such-account');
    }
    await saveAccountLink(db, {
      ...{ tokenHash: hashToken(token), clinicianId: colleagueId, madeById, clearsSecondStep },
      ...{ nowMs, expiresAtMs: nowMs + accountLinkMs },
    });
    await auditActor(db, actor, { patientId: null, subject: colleagueId, action: 'password-link-made' });
    if (sendsMail(service)) {
      const account = { clinicId, clinicianId: colleagueId, email: colleague.email };
      await notifyOfAccountChange(db, account, { news: 'reset-link', nowMs }, service.reminderSecrets);
    }
    return { token, name: colleague.name };
  });
}

/**
 * Sets a new password with a one-time link and signs the account out everywhere. Two-step verification stays on unless
 * the link was made to turn it off.
 *
 * @returns whose account it is, or null if the link no longer works
 */
export async function resetPassword(
  service: AccountResources,
  { token, password, nowMs }: { token: string; password: string; nowMs: number },
): Promise<AccountLink | null> {
  const passwordHash = await hashPassword(password);
  const link = await service.store.write(async (db) => {
    const used = await consumeAccountLink(db, hashToken(token), nowMs);
    if (used === null) return null;
    const { clinicId, clinicianId, email } = used;
    await setPassword(db, clinicianId, passwordHash);
    await endAllSignIns(db, clinicianId);
    const entry = { clinicId, clinicianId, patientId: null, subject: clinicianId, atMs: nowMs };
    await addAuditEntry(db, { ...entry, action: 'password-reset' });
    if (used.clearsSecondStep) {
      await clearSecondStep(db, clinicianId, nowMs);
      await addAuditEntry(db, { ...entry, action: 'second-step-removed' });
    }
    if (sendsMail(service)) {
      const account = { clinicId, clinicianId, email };
      await notifyOfAccountChange(db, account, { news: 'password', nowMs }, service.reminderSecrets);
    }
    return used;
  });
  // Anyone who forgot a password has probably tried several: the new one must not be rate-limited because of them.
  if (link !== null) await service.limits.forget(link.email);
  return link;
}
