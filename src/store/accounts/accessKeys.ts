import { randomUUID } from 'node:crypto';
import type { Db } from '../engine/openStore.js';
import { type Clinician, listClinicians } from './clinicians.js';

/** Lets another program act on behalf of a clinician; only the hash of its token is stored. */
export type AccessKey = {
  id: string;
  name: string;
  mayWrite: boolean;
  createdAtMs: number;
  lastSeenAtMs: number | null;
};

export async function makeAccessKey(
  db: Db,
  key: { tokenHash: string; clinicianId: string; name: string; mayWrite: boolean; nowMs: number },
): Promise<string> {
  const { tokenHash, clinicianId, name, mayWrite, nowMs } = key;
  const id = randomUUID();
  const unused = { lastSeenAtMs: null, endedAtMs: null };
  await db
    .insertInto('accessKey')
    .values({ id, tokenHash, clinicianId, name, mayWrite: mayWrite ? 1 : 0, createdAtMs: nowMs, ...unused })
    .execute();
  return id;
}

/** A clinician's valid keys, by name. */
export async function accessKeysOf(db: Db, clinicianId: string): Promise<AccessKey[]> {
  const rows = await db
    .selectFrom('accessKey')
    .select(['id', 'name', 'mayWrite', 'createdAtMs', 'lastSeenAtMs'])
    .where('clinicianId', '=', clinicianId)
    .where('endedAtMs', 'is', null)
    .orderBy('name')
    .orderBy('id')
    .execute();
  return rows.map((row) => ({ ...row, mayWrite: row.mayWrite === 1 }));
}

/** The clinician a key acts for, or null if it no longer works or the account is closed. */
export async function findKeyOwner(
  db: Db,
  tokenHash: string,
): Promise<{
  clinician: Clinician;
  accessKeyId: string;
  mayWrite: boolean;
  lastSeenAtMs: number | null;
} | null> {
  const found = await listClinicians(db)
    .innerJoin('accessKey', 'accessKey.clinicianId', 'clinician.id')
    .select(['accessKey.id as accessKeyId', 'accessKey.mayWrite', 'accessKey.lastSeenAtMs'])
    .where('accessKey.tokenHash', '=', tokenHash)
    .where('accessKey.endedAtMs', 'is', null)
    .executeTakeFirst();
  if (found === undefined) return null;
  const { accessKeyId, mayWrite, lastSeenAtMs, ...clinician } = found;
  return { clinician, accessKeyId, mayWrite: mayWrite === 1, lastSeenAtMs };
}

export async function markKeyUsed(db: Db, id: string, nowMs: number): Promise<void> {
  await db.updateTable('accessKey').set({ lastSeenAtMs: nowMs }).where('id', '=', id).execute();
}

/** @returns false if the clinician has no such valid key */
export async function endAccessKey(
  db: Db,
  clinicianId: string,
  { id, nowMs }: { id: string; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('accessKey')
    .set({ endedAtMs: nowMs })
    .where('id', '=', id)
    .where('clinicianId', '=', clinicianId)
    .where('endedAtMs', 'is', null)
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}

/** Revokes all keys of a clinician. */
export async function endAllAccessKeys(db: Db, clinicianId: string, nowMs: number): Promise<void> {
  await db
    .updateTable('accessKey')
    .set({ endedAtMs: nowMs })
    .where('clinicianId', '=', clinicianId)
    .where('endedAtMs', 'is', null)
    .execute();
}
