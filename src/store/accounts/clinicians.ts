import { randomUUID } from 'node:crypto';
import type { Db } from '../engine/openStore.js';
import type { Role } from '../schema/accountsSchema.js';

export type Clinician = {
  id: string;
  clinicId: string;
  clinicName: string;
  clinicZone: string;
  email: string;
  name: string;
  role: Role;
  passwordHash: string;
  totpSecret: string | null;
};

/** Whether a clinic has been set up. */
export async function hasClinic(db: Db): Promise<boolean> {
  return (await db.selectFrom('clinic').select('id').limit(1).executeTakeFirst()) !== undefined;
}

/** Stores an invitation by the hash of its token; earlier ones for a first clinic stop working. */
export async function inviteFirstOwner(
  db: Db,
  invitation: { tokenHash: string; nowMs: number; expiresAtMs: number },
): Promise<void> {
  await db.deleteFrom('invitation').where('clinicId', 'is', null).where('usedAtMs', 'is', null).execute();
  await db
    .insertInto('invitation')
    .values({
      tokenHash: invitation.tokenHash,
      clinicId: null,
      role: 'owner',
      createdAtMs: invitation.nowMs,
      expiresAtMs: invitation.expiresAtMs,
      usedAtMs: null,
    })
    .execute();
}

/** Whether a first owner's link still works. */
export async function isOpenInvitation(db: Db, tokenHash: string, nowMs: number): Promise<boolean> {
  const found = await db
    .selectFrom('invitation')
    .select('tokenHash')
    .where('tokenHash', '=', tokenHash)
    .where('clinicId', 'is', null)
    .where('usedAtMs', 'is', null)
    .where('expiresAtMs', '>', nowMs)
    .executeTakeFirst();
  return found !== undefined;
}

/**
 * Creates a clinic and its owner, and uses up the invitation.
 *
 * @returns the ids, or null if the invitation no longer works
 */
export async function createFirstClinic(
  db: Db,
  first: {
    tokenHash: string;
    clinicName: string;
    zone: string;
    name: string;
    email: string;
    passwordHash: string;
    nowMs: number;
  },
): Promise<{ clinicId: string; clinicianId: string } | null> {
  const used = await db
    .updateTable('invitation')
    .set({ usedAtMs: first.nowMs })
    .where('tokenHash', '=', first.tokenHash)
    .where('clinicId', 'is', null)
    .where('usedAtMs', 'is', null)
    .where('expiresAtMs', '>', first.nowMs)
    .executeTakeFirst();
  if (used.numUpdatedRows !== 1n) return null;
  const [clinicId, clinicianId] = [randomUUID(), randomUUID()];
  await db
    .insertInto('clinic')
    .values({ id: clinicId, name: first.clinicName, zone: first.zone, createdAtMs: first.nowMs })
    .execute();
  await db
    .insertInto('clinician')
    .values({
      id: clinicianId,
      clinicId,
      email: first.email.toLowerCase(),
      name: first.name,
      role: 'owner',
      passwordHash: first.passwordHash,
      totpSecret: null,
      totpLastStep: 0,
      createdAtMs: first.nowMs,
      endedAtMs: null,
    })
    .execute();
  return { clinicId, clinicianId };
}

/** Whether an address belongs to an account; the address of a closed account is free again. */
export async function isEmailTaken(db: Db, email: string): Promise<boolean> {
  const found = await db
    .selectFrom('clinician')
    .select('id')
    .where('email', '=', email.toLowerCase())
    .executeTakeFirst();
  return found !== undefined;
}

/** The account with an address, unless it is closed. */
export async function clinicianByEmail(db: Db, email: string): Promise<Clinician | null> {
  const found = await listClinicians(db).where('email', '=', email.toLowerCase()).executeTakeFirst();
  return found ?? null;
}

/** An owner by id, unless the account is closed or not an owner's. */
export async function ownerById(db: Db, id: string): Promise<Clinician | null> {
  const found = await listClinicians(db)
    .where('clinician.id', '=', id)
    .where('role', '=', 'owner')
    .executeTakeFirst();
  return found ?? null;
}

/** The addresses of all owners of all clinics. */
export async function ownerEmails(db: Db): Promise<string[]> {
  const rows = await listClinicians(db).where('role', '=', 'owner').orderBy('email').execute();
  return rows.map(({ email }) => email);
}

/** Remembers the step of a code. @returns false if this one, or a later one, was used before. */
export async function consumeTotpStep(db: Db, clinicianId: string, step: number): Promise<boolean> {
  const result = await db
    .updateTable('clinician')
    .set({ totpLastStep: step })
    .where('id', '=', clinicianId)
    .where('totpLastStep', '<', step)
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}

/** Turns the weekly summary on or off. */
export async function setWantsDigest(db: Db, clinicianId: string, wantsDigest: boolean): Promise<void> {
  await db
    .updateTable('clinician')
    .set({ wantsDigest: wantsDigest ? 1 : 0 })
    .where('id', '=', clinicianId)
    .where('endedAtMs', 'is', null)
    .execute();
}

/** Sets up two-step verification, or removes it with null. */
export async function setTotpSecret(db: Db, clinicianId: string, secret: string | null): Promise<void> {
  await db
    .updateTable('clinician')
    .set({ totpSecret: secret, totpLastStep: 0 })
    .where('id', '=', clinicianId)
    .execute();
}

/** Sets a password hash. The caller ends sign-ins as needed. */
export async function setPassword(db: Db, clinicianId: string, passwordHash: string): Promise<void> {
  await db.updateTable('clinician').set({ passwordHash }).where('id', '=', clinicianId).execute();
}

/** Sets the address a member signs in with; it must be free. */
export async function setEmail(db: Db, clinicianId: string, email: string): Promise<void> {
  await db
    .updateTable('clinician')
    .set({ email: email.toLowerCase() })
    .where('id', '=', clinicianId)
    .execute();
}

/** Open accounts, with their clinic. */
export function listClinicians(db: Db) {
  return db
    .selectFrom('clinician')
    .innerJoin('clinic', 'clinic.id', 'clinician.clinicId')
    .where('clinician.endedAtMs', 'is', null)
    .select([
      'clinician.id as id',
      'clinician.clinicId as clinicId',
      'clinic.name as clinicName',
      'clinic.zone as clinicZone',
      'clinician.email as email',
      'clinician.name as name',
      'clinician.role as role',
      'clinician.passwordHash as passwordHash',
      'clinician.totpSecret as totpSecret',
    ]);
}
