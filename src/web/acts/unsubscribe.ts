import { record } from '../../store/audit.js';
import {
  addContact,
  type Contact,
  type ContactOwner,
  contactOfUnsubscribe,
  contactsOf,
  endContact,
} from '../../store/contacts.js';
import { linkOf } from '../../store/listeningLinks.js';
import type { Db } from '../../store/openStore.js';
import { hashToken } from '../auth/tokens.js';
import type { Service } from '../service.js';
import { endSurplus } from './push.js';

/** What somebody gets at one address, as the token in any of its messages opens it. */
export type Messages = {
  clinicId: string;
  owner: ContactOwner;
  channel: Contact['channel'];
  address: string;
  /** The contact that stands; null when messages have ended. */
  standingId: string | null;
  /** Whether whoever ended them may have them again: never where somebody else ended them. */
  mayResume: boolean;
};

/** @returns null for a token that never was */
export function messagesAt({ store, now }: Service, token: string): Promise<Messages | null> {
  return store.read((db) => readMessages(db, token, now()));
}

/** What came of it, and whether it was only now that it changed. */
export type Changed = { messages: Messages; hasChanged: boolean };

/** Ends messages. @returns null for a token that never was */
export async function stopMessages({ store, now }: Service, token: string): Promise<Changed | null> {
  const nowMs = now();
  return store.write(async (db) => {
    const messages = await readMessages(db, token, nowMs);
    if (messages === null) return null;
    const { standingId: id } = messages;
    const hasChanged = id !== null && (await endContact(db, id, { why: 'unsubscribed', nowMs }));
    if (!hasChanged) return { messages, hasChanged };
    await noteByReader(db, messages, { action: 'messages-stopped', subject: id, nowMs });
    return { messages: (await readMessages(db, token, nowMs)) ?? messages, hasChanged };
  });
}

/** Has them sent again, unless somebody else ended them. @returns null for a token that never was */
export async function resumeMessages(
  { store, now, reminderSecrets: { unsubscribeHashOf } }: Service,
  token: string,
): Promise<Changed | null> {
  const nowMs = now();
  return store.write(async (db) => {
    const messages = await readMessages(db, token, nowMs);
    if (messages === null) return null;
    if (!messages.mayResume) return { messages, hasChanged: false };
    const { clinicId, owner, channel, address } = messages;
    const subject = await addContact(db, { clinicId, owner, channel, address, unsubscribeHashOf, nowMs });
    if (channel === 'push') await endSurplus(db, { clinicId, owner, newest: subject, nowMs });
    await noteByReader(db, messages, { action: 'messages-resumed', subject, nowMs });
    return { messages: { ...messages, standingId: subject, mayResume: false }, hasChanged: true };
  });
}

async function readMessages(db: Db, token: string, nowMs: number): Promise<Messages | null> {
  const found = await contactOfUnsubscribe(db, hashToken(token));
  if (found === null) return null;
  const { clinicId, owner, channel, address } = found;
  // Messages that were ended and wanted again come through a new contact; those of before still lie in the mailbox,
  // and what stands in any of them ends all that goes to this address.
  const contacts = (await contactsOf(db, clinicId, owner)).filter(
    (contact) => contact.channel === channel && contact.address === address,
  );
  const standing = contacts.find(({ endedAtMs }) => endedAtMs === null);
  const last = contacts.reduce((a, b) => ((b.endedAtMs ?? 0) > (a.endedAtMs ?? 0) ? b : a), found);
  const mayResume =
    standing === undefined &&
    last.endedWhy === 'unsubscribed' &&
    (await isOfTheirLink(db, { clinicId, owner, contact: last }, nowMs));
  return { clinicId, owner, channel, address, standingId: standing?.id ?? null, mayResume };
}

/** A phone whose link has ended may be in other hands. */
async function isOfTheirLink(
  db: Db,
  { clinicId, owner, contact }: { clinicId: string; owner: ContactOwner; contact: Contact },
  nowMs: number,
): Promise<boolean> {
  if (contact.channel !== 'push' || 'clinicianId' in owner) return true;
  const link = await linkOf(db, clinicId, owner, nowMs);
  return link !== null && link.createdAtMs <= contact.createdAtMs;
}

async function noteByReader(
  db: Db,
  { clinicId, owner }: Messages,
  { action, subject, nowMs }: { action: string; subject: string; nowMs: number },
): Promise<void> {
  const patientId = 'patientId' in owner ? owner.patientId : null;
  await record(db, { clinicId, patientId, clinicianId: null, action, subject, atMs: nowMs });
}
