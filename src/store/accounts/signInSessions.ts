import type { Db } from '../engine/openStore.js';
import { type Clinician, listClinicians } from './clinicians.js';

export type SignedIn = { clinician: Clinician; formToken: string };

/** One sign-in, as its owner sees it. */
export type ShownSignIn = { tokenHash: string; device: string; createdAtMs: number; lastSeenAtMs: number };

export async function beginSignIn(
  db: Db,
  session: {
    tokenHash: string;
    clinicianId: string;
    formToken: string;
    /** Browser and system, as two words; empty if unknown. */
    device?: string;
    nowMs: number;
    expiresAtMs: number;
  },
): Promise<void> {
  await db.deleteFrom('signInSession').where('expiresAtMs', '<=', session.nowMs).execute();
  await db
    .insertInto('signInSession')
    .values({
      tokenHash: session.tokenHash,
      clinicianId: session.clinicianId,
      formToken: session.formToken,
      createdAtMs: session.nowMs,
      lastSeenAtMs: session.nowMs,
      expiresAtMs: session.expiresAtMs,
      device: session.device ?? '',
    })
    .execute();
}

/** Rule PERM-8: the owner of a token, unless it has expired or was idle too long. */
export async function findSignIn(
  db: Db,
  session: { tokenHash: string; nowMs: number; idleMs: number },
): Promise<(SignedIn & { lastSeenAtMs: number }) | null> {
  const found = await listClinicians(db)
    .innerJoin('signInSession', 'signInSession.clinicianId', 'clinician.id')
    .select(['signInSession.formToken as formToken', 'signInSession.lastSeenAtMs as lastSeenAtMs'])
    .where('signInSession.tokenHash', '=', session.tokenHash)
    .where('signInSession.expiresAtMs', '>', session.nowMs)
    .where('signInSession.lastSeenAtMs', '>', session.nowMs - session.idleMs)
    .executeTakeFirst();
  if (found === undefined) return null;
  const { formToken, lastSeenAtMs, ...clinician } = found;
  return { clinician, formToken, lastSeenAtMs };
}

export async function markSignInSeen(db: Db, tokenHash: string, nowMs: number): Promise<void> {
  await db
    .updateTable('signInSession')
    .set({ lastSeenAtMs: nowMs })
    .where('tokenHash', '=', tokenHash)
    .execute();
}

export async function endSignIn(db: Db, tokenHash: string): Promise<void> {
  await db.deleteFrom('signInSession').where('tokenHash', '=', tokenHash).execute();
}

/** Signs a clinician out of every browser. */
export async function endAllSignIns(db: Db, clinicianId: string): Promise<void> {
  await db.deleteFrom('signInSession').where('clinicianId', '=', clinicianId).execute();
}

/** The same, except for the requesting browser. @returns how many were ended */
export async function endOtherSignIns(db: Db, clinicianId: string, keptHash: string): Promise<number> {
  const result = await db
    .deleteFrom('signInSession')
    .where('clinicianId', '=', clinicianId)
    .where('tokenHash', '<>', keptHash)
    .executeTakeFirst();
  return Number(result.numDeletedRows);
}

/** Where a clinician is signed in, most recently active first. */
export async function signInsOf(
  db: Db,
  clinicianId: string,
  { nowMs, idleMs }: { nowMs: number; idleMs: number },
): Promise<ShownSignIn[]> {
  return db
    .selectFrom('signInSession')
    .select(['tokenHash', 'device', 'createdAtMs', 'lastSeenAtMs'])
    .where('clinicianId', '=', clinicianId)
    .where('expiresAtMs', '>', nowMs)
    .where('lastSeenAtMs', '>', nowMs - idleMs)
    .orderBy('lastSeenAtMs', 'desc')
    .orderBy('tokenHash')
    .execute();
}
