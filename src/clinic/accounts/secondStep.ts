import { auditActor } from '../../store/accounts/audit.js';
import { type Clinician, consumeTotpStep, setTotpSecret } from '../../store/accounts/clinicians.js';
import { consumeRecoveryCode, replaceRecoveryCodes } from '../../store/accounts/recoveryCodes.js';
import type { Db } from '../../store/engine/openStore.js';
import type { Actor } from '../actor.js';
import type { Resources } from '../resources/resources.js';
import { hashShortCode, newShortCode } from './shortCodes.js';
import { totpStep } from './totp.js';

const recoveryCodeCount = 10;

/** The credentials for signing in; codes are empty if none were given. */
export type Credentials = { password: string; code: string; recoveryCode: string };

/** The code or recovery code given for two-step verification. */
export type SecondStep = 'not-set-up' | 'code' | 'recovery-code';

/**
 * Whether a code or a recovery code passes two-step verification; it is then used up. A recovery code is hashed in any
 * case, so that timing reveals nothing about the password.
 *
 * @param isKnown whether the password was right; nothing is used up otherwise
 * @returns what it was passed with, or null
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
 * Turns on two-step verification, with new recovery codes.
 *
 * @param step of the code that proved it; that code does not work again
 * @returns the recovery codes, which cannot be read again
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

/** Turns off two-step verification and deletes its recovery codes. */
export async function turnOffSecondStep({ store }: Pick<Resources, 'store'>, actor: Actor): Promise<void> {
  const { id } = actor.clinician;
  await store.write(async (db) => {
    await clearSecondStep(db, id, actor.nowMs);
    await auditActor(db, actor, { patientId: null, subject: id, action: 'second-step-removed' });
  });
}

/** Removes an account's two-step verification and its recovery codes, within a transaction. */
export async function clearSecondStep(db: Db, clinicianId: string, nowMs: number): Promise<void> {
  await setTotpSecret(db, clinicianId, null);
  await replaceRecoveryCodes(db, clinicianId, { codeHashes: [], nowMs });
}

/** Makes new recovery codes; the earlier ones stop working. @returns them; they cannot be read again */
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
