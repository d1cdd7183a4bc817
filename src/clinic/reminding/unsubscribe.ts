import { addAuditEntry } from '../../store/accounts/audit.js';
import { setWantsDigest } from '../../store/accounts/clinicians.js';
import type { Db } from '../../store/engine/openStore.js';
import { linkOf } from '../../store/listening/listeningLinks.js';
import {
  addContact,
  type Contact,
  type ContactOwner,
  contactOfUnsubscribe,
  contactsOf,
  endContact,
} from '../../store/people/contacts.js';
import { wantsDigest } from '../../store/reminding/weeks.js';
import { endSurplusSubscriptions } from '../listening/push.js';
import type { Resources } from '../resources/resources.js';
import { hashToken } from '../tokens.js';

/** What a recipient gets at one address, as the token in any of its messages opens it. */
export type Messages = {
  clinicId: string;
  owner: ContactOwner;
  channel: Contact['channel'];
  address: string;
  /** The contact it goes through; null if it has ended. */
  standingId: string | null;
  /** Whether the recipient may turn them on again: not if someone else ended them. */
  mayResume: boolean;
};

/** The result, and whether it changed just now. */
export type Changed = { messages: Messages; hasChanged: boolean };

/** @returns null for an unknown token */
export function findMessages(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  token: string,
): Promise<Messages | null> {
  return store.read((db) => readMessages(db, token, now()));
}

/** Stops messages. @returns null for an unknown token */
export async function stopMessages(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  token: string,
): Promise<Changed | null> {
  const nowMs = now();
  return store.write(async (db) => {
    const messages = await readMessages(db, token, nowMs);
    if (messages === null) return null;
    const { owner, standingId: subject } = messages;
    if (subject === null) return { messages, hasChanged: false };
    if ('clinicianId' in owner) await setWantsDigest(db, owner.clinicianId, false);
    else await endContact(db, subject, { why: 'unsubscribed', nowMs });
    await noteByReader(db, messages, { action: 'messages-stopped', subject, nowMs });
    return { messages: (await readMessages(db, token, nowMs)) ?? messages, hasChanged: true };
  });
}

/** Resumes messages, unless someone else ended them. @returns null for an unknown token */
export async function resumeMessages(
  service: Pick<Resources, 'store' | 'reminderSecrets' | 'now'>,
  token: string,
): Promise<Changed | null> {
  const nowMs = service.now();
  return service.store.write(async (db) => {
    const messages = await readMessages(db, token, nowMs);
    if (messages === null) return null;
    if (!messages.mayResume) return { messages, hasChanged: false };
    const { owner } = messages;
    if ('clinicianId' in owner) await setWantsDigest(db, owner.clinicianId, true);
    else await standAgain(db, service, messages, nowMs);
    const resumed = (await readMessages(db, token, nowMs)) ?? messages;
    const { standingId: subject } = resumed;
    // A closed account gets nothing, whatever its owner wants.
    if (subject === null) return { messages: resumed, hasChanged: false };
    await noteByReader(db, messages, { action: 'messages-resumed', subject, nowMs });
    return { messages: resumed, hasChanged: true };
  });
}

async function standAgain(
  db: Db,
  { reminderSecrets: { unsubscribeHashOf } }: Pick<Resources, 'reminderSecrets'>,
  { clinicId, owner, channel, address }: Messages,
  nowMs: number,
): Promise<void> {
  const newest = await addContact(db, { clinicId, owner, channel, address, unsubscribeHashOf, nowMs });
  if (channel === 'push') await endSurplusSubscriptions(db, { clinicId, owner, newest, nowMs });
}

async function readMessages(db: Db, token: string, nowMs: number): Promise<Messages | null> {
  const found = await contactOfUnsubscribe(db, hashToken(token));
  if (found === null) return null;
  const { clinicId, owner, channel, address } = found;
  const messages = { clinicId, owner, channel, address };
  if ('clinicianId' in owner) {
    // Only the weekly summary can be stopped. The address also gets warning signs, which must reach someone, so it
    // stays.
    const isWanted = await wantsDigest(db, owner.clinicianId);
    return { ...messages, standingId: isWanted ? found.id : null, mayResume: !isWanted };
  }
  // Resumed messages go through a new contact; earlier ones are still in the mailbox, and the link in any of them stops
  // everything to this address.
  const contacts = (await contactsOf(db, clinicId, owner)).filter(
    (contact) => contact.channel === channel && contact.address === address,
  );
  const standing = contacts.find(({ endedAtMs }) => endedAtMs === null);
  if (standing !== undefined) return { ...messages, standingId: standing.id, mayResume: false };
  const last = contacts.reduce((a, b) => ((b.endedAtMs ?? 0) > (a.endedAtMs ?? 0) ? b : a), found);
  const mayResume = last.endedWhy === 'unsubscribed' && (await isOfTheirLink(db, found, last, nowMs));
  return { ...messages, standingId: null, mayResume };
}

/** A phone whose link has ended may have changed hands. */
async function isOfTheirLink(
  db: Db,
  { clinicId, owner, channel }: Pick<Messages, 'clinicId' | 'owner' | 'channel'>,
  { createdAtMs }: Contact,
  nowMs: number,
): Promise<boolean> {
  if (channel !== 'push' || 'clinicianId' in owner) return true;
  const link = await linkOf(db, clinicId, owner, nowMs);
  return link !== null && link.createdAtMs <= createdAtMs;
}

async function noteByReader(
  db: Db,
  { clinicId, owner }: Messages,
  { action, subject, nowMs }: { action: string; subject: string; nowMs: number },
): Promise<void> {
  const patientId = 'patientId' in owner ? owner.patientId : null;
  await addAuditEntry(db, { clinicId, patientId, clinicianId: null, action, subject, atMs: nowMs });
}
