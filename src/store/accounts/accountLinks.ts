import { dayMs } from '../../time/units.js';
import type { Db } from '../engine/openStore.js';

/** A one-time link with which a locked-out member sets a new password. */
export type AccountLink = {
  clinicianId: string;
  clinicId: string;
  clinicName: string;
  name: string;
  email: string;
  clearsSecondStep: boolean;
};

/** A link made on the server for an owner, as the clinic's owners are shown it. */
export type OwnerLinkNotice = {
  name: string;
  createdAtMs: number;
  expiresAtMs: number;
  usedAtMs: number | null;
};

/** How long a link is kept after it ends, so that every owner can be shown it. */
const keptMs = 366 * dayMs;

/** Stores a link by the hash of its token; earlier ones for the same account stop working. Runs in a transaction. */
export async function saveAccountLink(
  db: Db,
  link: {
    tokenHash: string;
    clinicianId: string;
    /** The owner who makes it; null on the server. */
    madeById: string | null;
    clearsSecondStep: boolean;
    nowMs: number;
    expiresAtMs: number;
  },
): Promise<void> {
  const { nowMs, clearsSecondStep, ...columns } = link;
  await db
    .deleteFrom('accountLink')
    .where('expiresAtMs', '<', nowMs - keptMs)
    .execute();
  await endAccountLinks(db, link.clinicianId, nowMs);
  // What an owner saw while the clock was ahead must not hide a link made once it is right.
  if (link.madeById === null) {
    const clinicId = db.selectFrom('clinician').select('clinicId').where('id', '=', link.clinicianId);
    await db
      .updateTable('clinician')
      .set({ noticesSeenAtMs: nowMs - 1 })
      .where('clinicId', '=', clinicId)
      .where('noticesSeenAtMs', '>=', nowMs)
      .execute();
  }
  await db
    .insertInto('accountLink')
    .values({ ...columns, clearsSecondStep: clearsSecondStep ? 1 : 0, createdAtMs: nowMs, usedAtMs: null })
    .execute();
}

/** What a valid link leads to, or null. */
export async function findAccountLink(db: Db, tokenHash: string, nowMs: number): Promise<AccountLink | null> {
  const found = await db
    .selectFrom('accountLink')
    .innerJoin('clinician', 'clinician.id', 'accountLink.clinicianId')
    .innerJoin('clinic', 'clinic.id', 'clinician.clinicId')
    .select([
      'clinician.id as clinicianId',
      'clinician.name',
      'clinician.email',
      'accountLink.clearsSecondStep',
    ])
    .select(['clinic.id as clinicId', 'clinic.name as clinicName'])
    .where('accountLink.tokenHash', '=', tokenHash)
    .where('accountLink.usedAtMs', 'is', null)
    .where('accountLink.expiresAtMs', '>', nowMs)
    .where('clinician.endedAtMs', 'is', null)
    .executeTakeFirst();
  return found === undefined ? null : { ...found, clearsSecondStep: found.clearsSecondStep === 1 };
}

/** Uses up a link. Runs in a transaction. @returns what it led to, or null if it no longer works */
export async function consumeAccountLink(
  db: Db,
  tokenHash: string,
  nowMs: number,
): Promise<AccountLink | null> {
  const link = await findAccountLink(db, tokenHash, nowMs);
  const used = await db
    .updateTable('accountLink')
    .set({ usedAtMs: nowMs })
    .where('tokenHash', '=', tokenHash)
    .where('usedAtMs', 'is', null)
    .executeTakeFirst();
  return used.numUpdatedRows === 1n ? link : null;
}

/** Ends the unused links for an account: its password is known again, or another link replaces them. */
export async function endAccountLinks(db: Db, clinicianId: string, nowMs: number): Promise<void> {
  await db
    .updateTable('accountLink')
    .set({ expiresAtMs: nowMs })
    .where('clinicianId', '=', clinicianId)
    .where('usedAtMs', 'is', null)
    .where('expiresAtMs', '>', nowMs)
    .execute();
}

/** Ends the unused links that a former owner made. */
export async function endAccountLinksBy(db: Db, madeById: string, nowMs: number): Promise<void> {
  await db
    .updateTable('accountLink')
    .set({ expiresAtMs: nowMs })
    .where('madeById', '=', madeById)
    .where('usedAtMs', 'is', null)
    .where('expiresAtMs', '>', nowMs)
    .execute();
}

/** Links made on the server for owners of her clinic that an owner has not been shown yet, newest first. */
export async function ownerLinkNotices(db: Db, ownerId: string): Promise<OwnerLinkNotice[]> {
  return db
    .selectFrom('accountLink')
    .innerJoin('clinician', 'clinician.id', 'accountLink.clinicianId')
    .innerJoin('clinician as reader', 'reader.clinicId', 'clinician.clinicId')
    .select(['clinician.name', 'accountLink.createdAtMs', 'accountLink.expiresAtMs', 'accountLink.usedAtMs'])
    .where('accountLink.madeById', 'is', null)
    .where('reader.id', '=', ownerId)
    .whereRef('accountLink.createdAtMs', '>', 'reader.noticesSeenAtMs')
    .orderBy('accountLink.createdAtMs', 'desc')
    .execute();
}

/** Marks the notices up to a time as seen by an owner, even if a wrong clock has dated one ahead. */
export async function markOwnerLinksSeen(db: Db, ownerId: string, upToMs: number): Promise<void> {
  await db
    .updateTable('clinician')
    .set({ noticesSeenAtMs: upToMs })
    .where('id', '=', ownerId)
    .where('noticesSeenAtMs', '<', upToMs)
    .execute();
}

/** The owners of a clinic, with the addresses at which they are notified about accounts. */
export async function ownersOf(db: Db, clinicId: string): Promise<{ clinicianId: string; email: string }[]> {
  return db
    .selectFrom('clinician')
    .select(['id as clinicianId', 'email'])
    .where('clinicId', '=', clinicId)
    .where('role', '=', 'owner')
    .where('endedAtMs', 'is', null)
    .orderBy('id')
    .execute();
}

/** Whether a link is already stored, whatever happened to it. */
export async function isKnownAccountLink(db: Db, tokenHash: string): Promise<boolean> {
  const found = await db
    .selectFrom('accountLink')
    .select('tokenHash')
    .where('tokenHash', '=', tokenHash)
    .executeTakeFirst();
  return found !== undefined;
}
