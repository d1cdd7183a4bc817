import { type Clinician, clinicians } from './clinicians.js';
import type { Db } from './openStore.js';

export type SignedIn = { clinician: Clinician; formToken: string };

export async function beginSignIn(
  db: Db,
  session: { tokenHash: string; clinicianId: string; formToken: string; nowMs: number; expiresAtMs: number },
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
    })
    .execute();
}

/** Who a token belongs to, unless it has expired or was idle too long. */
export async function signedIn(
  db: Db,
  session: { tokenHash: string; nowMs: number; idleMs: number },
): Promise<(SignedIn & { lastSeenAtMs: number }) | null> {
  const found = await clinicians(db)
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

export async function noteSeen(db: Db, tokenHash: string, nowMs: number): Promise<void> {
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
