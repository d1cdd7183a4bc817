import { randomUUID } from 'node:crypto';
import type { ExpressionBuilder } from 'kysely';
import type { Db } from '../engine/openStore.js';
import type { TokenPurpose } from '../schema/listeningSchema.js';
import type { Database } from '../schema/schema.js';

/** Whom a link is for: a patient, or a caregiver. */
export type LinkOwner = { patientId: string } | { caregiverPersonId: string };

export type NewLink = {
  clinicId: string;
  owner: LinkOwner;
  tokenHash: string;
  codeHash: string;
  pinHash: string | null;
  clinicianId: string;
  nowMs: number;
  expiresAtMs: number;
};

/** A link as the clinic sees it. */
export type ShownLink = {
  id: string;
  hasPin: boolean;
  wrongPins: number;
  hasFeed: boolean;
  hasCalendar: boolean;
  createdAtMs: number;
  expiresAtMs: number;
  lastSeenAtMs: number | null;
};

/** A link as it admits its owner. */
export type OpenLink = {
  linkId: string;
  clinicId: string;
  patientId: string | null;
  caregiverPersonId: string | null;
  pinHash: string | null;
  wrongPins: number;
  lastSeenAtMs: number | null;
};

const isOf = (owner: LinkOwner) => (eb: ExpressionBuilder<Database, 'listeningLink'>) =>
  'patientId' in owner
    ? eb('patientId', '=', owner.patientId)
    : eb('caregiverPersonId', '=', owner.caregiverPersonId);

/** Makes a person's link; the previous one ends. Runs in a transaction. */
export async function makeLink(db: Db, link: NewLink): Promise<string> {
  await revokeLinks(db, link.clinicId, link.owner, link.nowMs);
  const id = randomUUID();
  const { clinicId, codeHash, pinHash, clinicianId, nowMs, expiresAtMs } = link;
  await db
    .insertInto('listeningLink')
    .values({
      id,
      clinicId,
      patientId: 'patientId' in link.owner ? link.owner.patientId : null,
      caregiverPersonId: 'caregiverPersonId' in link.owner ? link.owner.caregiverPersonId : null,
      codeHash,
      pinHash,
      clinicianId,
      createdAtMs: nowMs,
      expiresAtMs,
      lastSeenAtMs: null,
      revokedAtMs: null,
    })
    .execute();
  await addToken(db, { linkId: id, tokenHash: link.tokenHash, purpose: 'pages', nowMs });
  return id;
}

/** @returns how many links ended */
export async function revokeLinks(
  db: Db,
  clinicId: string,
  owner: LinkOwner,
  nowMs: number,
): Promise<number> {
  const result = await db
    .updateTable('listeningLink')
    .set({ revokedAtMs: nowMs })
    .where('clinicId', '=', clinicId)
    .where('revokedAtMs', 'is', null)
    .where(isOf(owner))
    .executeTakeFirst();
  return Number(result.numUpdatedRows);
}

/** A person's current link, or null. */
export async function linkOf(
  db: Db,
  clinicId: string,
  owner: LinkOwner,
  nowMs: number,
): Promise<ShownLink | null> {
  const found = await db
    .selectFrom('listeningLink')
    .select(['id', 'pinHash', 'wrongPins', 'createdAtMs', 'expiresAtMs', 'lastSeenAtMs'])
    .where('clinicId', '=', clinicId)
    .where('revokedAtMs', 'is', null)
    .where('expiresAtMs', '>', nowMs)
    .where(isOf(owner))
    .executeTakeFirst();
  if (found === undefined) return null;
  const { pinHash, ...rest } = found;
  return {
    ...rest,
    hasPin: pinHash !== null,
    hasFeed: await hasToken(db, found.id, 'feed'),
    hasCalendar: await hasToken(db, found.id, 'calendar'),
  };
}

export async function addToken(
  db: Db,
  token: { linkId: string; tokenHash: string; purpose: TokenPurpose; nowMs: number },
): Promise<void> {
  const { linkId, tokenHash, purpose, nowMs } = token;
  await db
    .insertInto('listeningToken')
    .values({ tokenHash, linkId, purpose, createdAtMs: nowMs, revokedAtMs: null })
    .execute();
}

/** Adds tokens that open the pages of links; existing ones stay as they are. */
export async function addPageTokens(
  db: Db,
  tokens: readonly { linkId: string; tokenHash: string; contactId: string }[],
  nowMs: number,
): Promise<void> {
  await db
    .insertInto('listeningToken')
    .values(tokens.map((each) => ({ ...each, purpose: 'pages', createdAtMs: nowMs, revokedAtMs: null })))
    .onConflict((conflict) => conflict.column('tokenHash').doNothing())
    .execute();
}

/** Ends the addresses that were sent to a contact. */
export async function revokeContactTokens(db: Db, contactId: string, nowMs: number): Promise<void> {
  await db
    .updateTable('listeningToken')
    .set({ revokedAtMs: nowMs })
    .where('contactId', '=', contactId)
    .where('revokedAtMs', 'is', null)
    .execute();
}

/** Ends the tokens of a link for one purpose, such as its feed. Runs in a transaction: it locks the link. */
export async function revokeTokens(
  db: Db,
  linkId: string,
  purpose: TokenPurpose,
  nowMs: number,
): Promise<void> {
  // Two concurrent calls must not each leave their own token.
  await db
    .updateTable('listeningLink')
    .set(({ ref }) => ({ wrongPins: ref('wrongPins') }))
    .where('id', '=', linkId)
    .execute();
  await db
    .updateTable('listeningToken')
    .set({ revokedAtMs: nowMs })
    .where('linkId', '=', linkId)
    .where('purpose', '=', purpose)
    .where('revokedAtMs', 'is', null)
    .execute();
}

/** Whether a link has a token for a purpose. */
export async function hasToken(db: Db, linkId: string, purpose: TokenPurpose): Promise<boolean> {
  const found = await db
    .selectFrom('listeningToken')
    .select('tokenHash')
    .where('linkId', '=', linkId)
    .where('purpose', '=', purpose)
    .where('revokedAtMs', 'is', null)
    .limit(1)
    .executeTakeFirst();
  return found !== undefined;
}

const openColumns = [
  'listeningLink.id as linkId',
  'listeningLink.clinicId as clinicId',
  'listeningLink.patientId as patientId',
  'listeningLink.caregiverPersonId as caregiverPersonId',
  'listeningLink.pinHash as pinHash',
  'listeningLink.wrongPins as wrongPins',
  'listeningLink.lastSeenAtMs as lastSeenAtMs',
] as const;

/**
 * Rule PERM-4: null for a token that never existed, was revoked, or serves another purpose, or whose link was revoked
 * or has expired.
 */
export async function linkOfToken(
  db: Db,
  token: { tokenHash: string; purpose: TokenPurpose; nowMs: number },
): Promise<OpenLink | null> {
  const found = await db
    .selectFrom('listeningToken')
    .innerJoin('listeningLink', 'listeningLink.id', 'listeningToken.linkId')
    .select(openColumns)
    .where('listeningToken.tokenHash', '=', token.tokenHash)
    .where('listeningToken.purpose', '=', token.purpose)
    .where('listeningToken.revokedAtMs', 'is', null)
    .where('listeningLink.revokedAtMs', 'is', null)
    .where('listeningLink.expiresAtMs', '>', token.nowMs)
    .executeTakeFirst();
  return found ?? null;
}

/** The same by short code. */
export async function linkOfCode(db: Db, codeHash: string, nowMs: number): Promise<OpenLink | null> {
  const found = await db
    .selectFrom('listeningLink')
    .select(openColumns)
    .where('codeHash', '=', codeHash)
    .where('revokedAtMs', 'is', null)
    .where('expiresAtMs', '>', nowMs)
    .executeTakeFirst();
  return found ?? null;
}

export async function markLinkSeen(db: Db, linkId: string, nowMs: number): Promise<void> {
  await db.updateTable('listeningLink').set({ lastSeenAtMs: nowMs }).where('id', '=', linkId).execute();
}

/** Counts a wrong PIN; a right one resets the count. */
export async function recordPinAttempt(db: Db, linkId: string, isRight: boolean): Promise<void> {
  await db
    .updateTable('listeningLink')
    .set(({ eb, ref }) => ({ wrongPins: isRight ? 0 : eb(ref('wrongPins'), '+', 1) }))
    .where('id', '=', linkId)
    .execute();
}
