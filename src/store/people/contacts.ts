import { createHash, randomUUID } from 'node:crypto';
import type { ExpressionBuilder } from 'kysely';
import { schedulePlanning } from '../attention/patientChanged.js';
import { schedulePlanningForCaregiver } from '../attention/reminderWatch.js';
import type { Db } from '../engine/openStore.js';
import { revokeContactTokens } from '../listening/listeningLinks.js';
import type { ChannelName, ContactEnd } from '../schema/reminderSchema.js';
import type { Database } from '../schema/schema.js';

/** The person a contact reaches. */
export type ContactOwner = { patientId: string } | { caregiverPersonId: string } | { clinicianId: string };

/** One way to reach someone; `address` is JSON text for its channel. */
export type Contact = {
  id: string;
  channel: ChannelName;
  address: string;
  createdAtMs: number;
  endedAtMs: number | null;
  endedWhy: ContactEnd | null;
};

const columns = ['id', 'channel', 'address', 'createdAtMs', 'endedAtMs', 'endedWhy'] as const;

const isOf = (owner: ContactOwner) => (eb: ExpressionBuilder<Database, 'contact'>) => {
  if ('patientId' in owner) return eb('patientId', '=', owner.patientId);
  if ('caregiverPersonId' in owner) return eb('caregiverPersonId', '=', owner.caregiverPersonId);
  return eb('clinicianId', '=', owner.clinicianId);
};

/** All contacts of a person, including ended ones, oldest first. */
export async function contactsOf(db: Db, clinicId: string, owner: ContactOwner): Promise<Contact[]> {
  return db
    .selectFrom('contact')
    .select(columns)
    .where('clinicId', '=', clinicId)
    .where(isOf(owner))
    .orderBy('createdAtMs')
    .orderBy('id')
    .execute();
}

/** Adds a contact, or returns the existing one with this address. Runs in a transaction. */
export async function addContact(
  db: Db,
  contact: {
    clinicId: string;
    owner: ContactOwner;
    channel: ChannelName;
    address: string;
    unsubscribeHashOf: (contactId: string) => string;
    nowMs: number;
    /** During planning, which would otherwise deadlock. */
    isPlanning?: boolean;
  },
): Promise<string> {
  const { clinicId, owner, channel, address, unsubscribeHashOf, nowMs, isPlanning = false } = contact;
  const id = randomUUID();
  const addressHash = createHash('sha256').update(address).digest('hex');
  await db
    .insertInto('contact')
    .values({
      id,
      clinicId,
      patientId: 'patientId' in owner ? owner.patientId : null,
      caregiverPersonId: 'caregiverPersonId' in owner ? owner.caregiverPersonId : null,
      clinicianId: 'clinicianId' in owner ? owner.clinicianId : null,
      channel,
      address,
      addressHash,
      unsubscribeHash: unsubscribeHashOf(id),
      createdAtMs: nowMs,
      endedAtMs: null,
      endedWhy: null,
    })
    .onConflict((conflict) => conflict.doNothing())
    .execute();
  const { id: standing } = await db
    .selectFrom('contact')
    .select('id')
    .where(isOf(owner))
    .where('channel', '=', channel)
    .where('addressHash', '=', addressHash)
    .where('endedAtMs', 'is', null)
    .executeTakeFirstOrThrow();
  if (standing === id && !isPlanning) await planFor(db, owner);
  return standing;
}

/** Ends a contact; pending messages to it are dropped when they come up. @returns false if it had already ended */
export async function endContact(
  db: Db,
  id: string,
  { why, nowMs, isPlanning = false }: { why: ContactEnd; nowMs: number; isPlanning?: boolean },
): Promise<boolean> {
  const ended = await db
    .updateTable('contact')
    .set({ endedAtMs: nowMs, endedWhy: why })
    .where('id', '=', id)
    .where('endedAtMs', 'is', null)
    .returning(['patientId', 'caregiverPersonId'])
    .executeTakeFirst();
  if (ended === undefined) return false;
  // If the address was wrong, its recipient must not be able to use links that were sent there.
  if (why !== 'unsubscribed') await revokeContactTokens(db, id, nowMs);
  if (isPlanning) return true;
  if (ended.patientId !== null) await schedulePlanning(db, ended.patientId);
  if (ended.caregiverPersonId !== null) await schedulePlanningForCaregiver(db, ended.caregiverPersonId);
  return true;
}

/** A contact by the token in its unsubscribe link; null if there is none. */
export async function contactOfUnsubscribe(
  db: Db,
  unsubscribeHash: string,
): Promise<(Contact & { clinicId: string; owner: ContactOwner }) | null> {
  const found = await db
    .selectFrom('contact')
    .select(columns)
    .select(['clinicId', 'patientId', 'caregiverPersonId', 'clinicianId'])
    .where('unsubscribeHash', '=', unsubscribeHash)
    .executeTakeFirst();
  if (found === undefined) return null;
  const { patientId, caregiverPersonId, clinicianId, ...contact } = found;
  if (patientId !== null) return { ...contact, owner: { patientId } };
  if (caregiverPersonId !== null) return { ...contact, owner: { caregiverPersonId } };
  return { ...contact, owner: { clinicianId: clinicianId ?? '' } };
}

/** The contact that a delivery went to; null for an unknown one. */
export async function contactOfDelivery(db: Db, deliveryId: string): Promise<string | null> {
  const found = await db
    .selectFrom('delivery')
    .select('contactId')
    .where('id', '=', deliveryId)
    .executeTakeFirst();
  return found?.contactId ?? null;
}

async function planFor(db: Db, owner: ContactOwner): Promise<void> {
  if ('patientId' in owner) await schedulePlanning(db, owner.patientId);
  if ('caregiverPersonId' in owner) await schedulePlanningForCaregiver(db, owner.caregiverPersonId);
}

/**
 * Redirects what is waiting for one contact to another, except account notices: those are for the owner of the old
 * address.
 */
export async function moveDeliveries(db: Db, fromId: string, toId: string): Promise<void> {
  if (fromId === toId) return;
  await db
    .updateTable('delivery')
    .set({ contactId: toId })
    .where('contactId', '=', fromId)
    .where('state', 'in', ['waiting', 'sending'])
    .where('kind', '<>', 'account')
    .execute();
}
