import type { Db } from '../engine/openStore.js';

/** Stores new recovery codes as hashes; all earlier ones stop working. Runs in a transaction. */
export async function replaceRecoveryCodes(
  db: Db,
  clinicianId: string,
  { codeHashes, nowMs }: { codeHashes: readonly string[]; nowMs: number },
): Promise<void> {
  await db.deleteFrom('recoveryCode').where('clinicianId', '=', clinicianId).execute();
  if (codeHashes.length === 0) return;
  await db
    .insertInto('recoveryCode')
    .values(codeHashes.map((codeHash) => ({ clinicianId, codeHash, createdAtMs: nowMs, usedAtMs: null })))
    .execute();
}

/** Uses up a recovery code. @returns false if it does not exist or was used before */
export async function consumeRecoveryCode(
  db: Db,
  clinicianId: string,
  { codeHash, nowMs }: { codeHash: string; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('recoveryCode')
    .set({ usedAtMs: nowMs })
    .where('clinicianId', '=', clinicianId)
    .where('codeHash', '=', codeHash)
    .where('usedAtMs', 'is', null)
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}

/** How many of a clinician's recovery codes still work. */
export async function countRecoveryCodes(db: Db, clinicianId: string): Promise<number> {
  const found = await db
    .selectFrom('recoveryCode')
    .select(({ fn }) => fn.countAll().as('count'))
    .where('clinicianId', '=', clinicianId)
    .where('usedAtMs', 'is', null)
    .executeTakeFirst();
  return Number(found?.count ?? 0);
}
