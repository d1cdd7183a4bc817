import { notifyOfAccountChange, redirectToNewAddress } from '../../reminders/accountNews.js';
import { endAccountLinks } from '../../store/accounts/accountLinks.js';
import { auditActor } from '../../store/accounts/audit.js';
import { type Clinician, isEmailTaken, setEmail, setPassword } from '../../store/accounts/clinicians.js';
import { endOtherSignIns, endSignIn, signInsOf } from '../../store/accounts/signInSessions.js';
import type { Actor } from '../actor.js';
import { Refused, refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { hashToken, sameSecret } from '../tokens.js';
import { emailTaken } from '../values.js';
import { hashPassword, isPassword } from './passwords.js';
import { type Credentials, consumeSecondStep } from './secondStep.js';

/** The resources for notifying account owners of changes. */
export type AccountNewsResources = Pick<Resources, 'store' | 'reminderSecrets' | 'channelNames'>;

/** The resources for changing how an account is accessed and reached. */
export type AccountResources = Pick<Resources, 'store' | 'limits' | 'reminderSecrets' | 'channelNames'>;

/** A signed-in member on one of her pages, and her sign-in. */
export type SignedInActor = Actor & { tokenHash: string };
/** Proof that the request comes from the account's owner; `place` is the origin, for rate limits. */
export type Proof = Credentials & { place: string };

/** Whether a password is the actor's: someone who merely sits at an open page must not act as its owner. */
export async function isPasswordCorrect(
  { limits }: Pick<Resources, 'limits'>,
  { clinician }: SignedInActor,
  { password, place }: Pick<Proof, 'password' | 'place'>,
): Promise<boolean> {
  if (!(await limits.mayTry(clinician.email, place))) return false;
  return isPassword(password, clinician.passwordHash);
}

/** Also requires a code if two-step verification is on; for changes to how an account is accessed. */
export async function isIdentityProven(
  service: Pick<Resources, 'store' | 'limits'>,
  actor: SignedInActor,
  proof: Proof,
): Promise<boolean> {
  const { clinician, nowMs } = actor;
  const isKnown = await isPasswordCorrect(service, actor, proof);
  if ((await consumeSecondStep(service, clinician, { ...proof, isKnown, nowMs })) === null) return false;
  await service.limits.forget(clinician.email);
  return true;
}

/** Changes the actor's password. All other sign-ins and all links for changing the password end. */
export async function changePassword(
  service: AccountNewsResources,
  actor: SignedInActor,
  password: string,
): Promise<void> {
  const { clinician, nowMs, tokenHash } = actor;
  const passwordHash = await hashPassword(password);
  await service.store.write(async (db) => {
    await setPassword(db, clinician.id, passwordHash);
    await endOtherSignIns(db, clinician.id, tokenHash);
    await endAccountLinks(db, clinician.id, nowMs);
    await auditActor(db, actor, { patientId: null, subject: clinician.id, action: 'password-changed' });
    if (sendsMail(service)) {
      const about = { news: 'password', nowMs } as const;
      await notifyOfAccountChange(db, accountOf(clinician), about, service.reminderSecrets);
    }
  });
}

/**
 * Changes the address the actor signs in with. All other sign-ins and all links for changing the password end. The old
 * address is notified, and pending messages go to the new one.
 *
 * @throws Refused if another account has this address
 */
export async function changeEmail(
  service: AccountNewsResources,
  actor: SignedInActor,
  typed: string,
): Promise<void> {
  const { clinician, nowMs, tokenHash } = actor;
  const email = typed.toLowerCase();
  if (email === clinician.email) return;
  await service.store.write(async (db) => {
    if (await isEmailTaken(db, email)) throw new Refused([emailTaken]);
    await setEmail(db, clinician.id, email);
    await endOtherSignIns(db, clinician.id, tokenHash);
    await endAccountLinks(db, clinician.id, nowMs);
    await auditActor(db, actor, { patientId: null, subject: clinician.id, action: 'email-changed' });
    const account = accountOf(clinician);
    if (sendsMail(service)) {
      await notifyOfAccountChange(db, account, { news: 'email', nowMs }, service.reminderSecrets);
    }
    await redirectToNewAddress(db, { ...account, email }, nowMs, service.reminderSecrets);
  });
}

/** The name of a sign-in on a page: not its hash, which is the key in the database. */
export function signInName(tokenHash: string): string {
  return hashToken(tokenHash);
}

/** Ends another sign-in of the actor. @throws Refused if there is none with this name */
export async function endNamedSignIn(
  { store }: Pick<Resources, 'store'>,
  actor: SignedInActor,
  { name, idleMs }: { name: string; idleMs: number },
): Promise<void> {
  const { clinician, nowMs } = actor;
  await store.write(async (db) => {
    const own = await signInsOf(db, clinician.id, { nowMs, idleMs });
    const found = own.find(({ tokenHash }) => sameSecret(signInName(tokenHash), name));
    if (found === undefined || found.tokenHash === actor.tokenHash) {
      throw refused('no-such-sign-in');
    }
    await endSignIn(db, found.tokenHash);
    await auditActor(db, actor, { patientId: null, subject: clinician.id, action: 'sign-in-ended' });
  });
}

/** Ends every sign-in of the actor except this one. */
export async function signOutElsewhere(
  { store }: Pick<Resources, 'store'>,
  actor: SignedInActor,
): Promise<void> {
  const { clinician, tokenHash } = actor;
  await store.write(async (db) => {
    await endOtherSignIns(db, clinician.id, tokenHash);
    await auditActor(db, actor, { patientId: null, subject: clinician.id, action: 'other-sign-ins-ended' });
  });
}

/** Whether this installation can send email. */
export function sendsMail({ channelNames }: Pick<Resources, 'channelNames'>): boolean {
  return channelNames.has('mail');
}

function accountOf({ clinicId, id, email }: Clinician) {
  return { clinicId, clinicianId: id, email };
}
