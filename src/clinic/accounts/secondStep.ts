import { type Clinician, consumeTotpStep, setTotpSecret } from '../../store/accounts/clinicians.js';
import { consumeRecoveryCode, replaceRecoveryCodes } from '../../store/accounts/recoveryCodes.js';
import type { Db } from '../../store/engine/openStore.js';
import { type Actor, auditActor } from '../actor.js';
import type { Resources } from '../resources/resources.js';
import { hashShortCode, newShortCode } from './shortCodes.js';
import { totpStep } from './totp.js';

const recoveryCodeCount = 10;

/** What somebody signs in with; codes are empty where none was given. */
export type Credentials = { password: string; code: string; recoveryCode: string };

/** What was given for the second step. */
export type SecondStep = 'not-set-up' | 'code' | 'recovery-code';

/**
 * Whether a code or a recovery code passes the second step of an account; it is used up. A recovery code is
 * hashed whatever else is right, so that the time it takes says nothing about the password.
 *
 * @param isKnown whether the password was right; nothing is used up otherwise
 * @returns with what it was passed, or null
 */
export async function consumeSecondStep(
  { store }: Pick<Resources, 'store'>,
  clinician: Clinician | null,
  { isKnown, code, recoveryCode, nowMs }: Omit<Credentials, 'password'> & { isKnown: boolean; nowMs: number },
): Promise<SecondStep | null> {
  const codeHash = recoveryCode === '' ? null : await hashShortCode(recoveryCode);
  if (clinician === null || !isKnown) return null;
  const { id, totpSecret } = clinician;
  if (totpSecret === null) return 'not-set-up';
  const step = totpStep(totpSecret, code, nowMs);
  if (step !== null && (await store.write((db) => consumeTotpStep(db, id, step)))) return 'code';
  if (codeHash === null) return null;
  return store.write(async (db) => {
    if (!(await consumeRecoveryCode(db, id, { codeHash, nowMs }))) return null;
    const actor = { clinician, accessKeyId: null, mayWrite: true, nowMs };
    await auditActor(db, actor, { patientId: null, subject: id, action: 'recovery-code-used' });
    return 'recovery-code';
  });
}

/**
 * Turns the second step on, with new recovery codes.
 *
 * @param step of the code that proved it, which does not work again
 * @returns the recovery codes, which nobody can read again
 */
export async function turnOnSecondStep(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  { secret, step }: { secret: string; step: number },
): Promise<string[]> {
  const { id } = actor.clinician;
  const { codes, codeHashes } = await newRecoveryCodes();
  await store.write(async (db) => {
    await setTotpSecret(db, id, secret);
    await consumeTotpStep(db, id, step);
    await replaceRecoveryCodes(db, id, { codeHashes, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId: null, subject: id, action: 'second-step-set-up' });
  });
  return codes;
}

/** Turns the second step off; its recovery codes go with it. */
export async function turnOffSecondStep({ store }: Pick<Resources, 'store'>, actor: Actor): Promise<void> {
  const { id } = actor.clinician;
  await store.write(async (db) => {
    await clearSecondStep(db, id, actor.nowMs);
    await auditActor(db, actor, { patientId: null, subject: id, action: 'second-step-removed' });
  });
}

/** Takes the second step of an account away with its recovery codes, in a transaction. */
export async function clearSecondStep(db: Db, clinicianId: string, nowMs: number): Promise<void> {
  await setTotpSecret(db, clinicianId, null);
  await replaceRecoveryCodes(db, clinicianId, { codeHashes: [], nowMs });
}

/** Makes new recovery codes; the earlier ones stop working. @returns them, which nobody can read again */
export async function renewRecoveryCodes(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
): Promise<string[]> {
  const { id } = actor.clinician;
  const { codes, codeHashes } = await newRecoveryCodes();
  await store.write(async (db) => {
    await replaceRecoveryCodes(db, id, { codeHashes, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId: null, subject: id, action: 'recovery-codes-made' });
  });
  return codes;
}

async function newRecoveryCodes(): Promise<{ codes: string[]; codeHashes: string[] }> {
  const codes = Array.from({ length: recoveryCodeCount }, newShortCode);
  return { codes, codeHashes: await Promise.all(codes.map(hashShortCode)) };
}
