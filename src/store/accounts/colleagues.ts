import { randomUUID } from 'node:crypto';
import type { Db } from '../engine/openStore.js';
import type { Role } from '../schema/accountsSchema.js';

export type Colleague = {
  id: string;
  name: string;
  /** For a closed account, the address it had. */
  email: string;
  role: Role;
  hasSecondStep: boolean;
  endedAtMs: number | null;
};

/** Everyone who has or had an account at a clinic, by name. */
export async function colleaguesOf(db: Db, clinicId: string): Promise<Colleague[]> {
  const rows = await db
    .selectFrom('clinician')
    .select(['id', 'name', 'email', 'formerEmail', 'role', 'endedAtMs', 'totpSecret'])
    .where('clinicId', '=', clinicId)
    .orderBy('name')
    .orderBy('id')
    .execute();
  return rows.map(({ formerEmail, totpSecret, ...row }) => ({
    ...row,
    email: formerEmail ?? row.email,
    hasSecondStep: totpSecret !== null,
  }));
}

/** Stores an invitation to a clinic by the hash of its token. */
export async function inviteColleague(
  db: Db,
  invitation: { tokenHash: string; clinicId: string; role: Role; nowMs: number; expiresAtMs: number },
): Promise<void> {
  const { nowMs, ...columns } = invitation;
  await db
    .insertInto('invitation')
    .values({ ...columns, createdAtMs: nowMs, usedAtMs: null })
    .execute();
}

/** The clinic and role of a valid invitation, or null. */
export async function openInvitation(
  db: Db,
  tokenHash: string,
  nowMs: number,
): Promise<{ clinicId: string; clinicName: string; role: Role } | null> {
  const found = await db
    .selectFrom('invitation')
    .innerJoin('clinic', 'clinic.id', 'invitation.clinicId')
    .select(['clinic.id as clinicId', 'clinic.name as clinicName', 'invitation.role as role'])
    .where('invitation.tokenHash', '=', tokenHash)
    .where('invitation.usedAtMs', 'is', null)
    .where('invitation.expiresAtMs', '>', nowMs)
    .executeTakeFirst();
  return found ?? null;
}

/**
 * Creates a member's account and uses up the invitation. Runs in a transaction.
 *
 * @returns the ids, or null if the invitation no longer works
 */
export async function joinClinic(
  db: Db,
  joining: { tokenHash: string; name: string; email: string; passwordHash: string; nowMs: number },
): Promise<{ clinicId: string; clinicianId: string } | null> {
  const invitation = await openInvitation(db, joining.tokenHash, joining.nowMs);
  const used = await db
    .updateTable('invitation')
    .set({ usedAtMs: joining.nowMs })
    .where('tokenHash', '=', joining.tokenHash)
    .where('clinicId', 'is not', null)
    .where('usedAtMs', 'is', null)
    .executeTakeFirst();
  if (invitation === null || used.numUpdatedRows !== 1n) return null;
  const clinicianId = randomUUID();
  await db
    .insertInto('clinician')
    .values({
      id: clinicianId,
      clinicId: invitation.clinicId,
      email: joining.email.toLowerCase(),
      name: joining.name,
      role: invitation.role,
      passwordHash: joining.passwordHash,
      totpSecret: null,
      totpLastStep: 0,
      createdAtMs: joining.nowMs,
      endedAtMs: null,
    })
    .execute();
  return { clinicId: invitation.clinicId, clinicianId };
}

/**
 * Closes an account; what its owner signed stays under their name, and their address is free again. Runs in a
 * transaction.
 *
 * @returns false if there is none
 */
export async function endAccount(
  db: Db,
  clinicId: string,
  account: { clinicianId: string; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('clinician')
    .set(({ ref }) => ({ endedAtMs: account.nowMs, formerEmail: ref('email'), email: ref('id') }))
    .where('id', '=', account.clinicianId)
    .where('clinicId', '=', clinicId)
    .where('endedAtMs', 'is', null)
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}
