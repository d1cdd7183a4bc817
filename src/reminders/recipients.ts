import type { Db } from '../store/engine/openStore.js';
import { caregiversOf, consentsOf, emailsOfCaregiver, lastAgreedMs } from '../store/people/caregivers.js';
import type { Patient } from '../store/people/chart.js';
import {
  addContact,
  type Contact,
  type ContactOwner,
  contactsOf,
  endContact,
} from '../store/people/contacts.js';
import type { ConsentKind } from '../store/schema/peopleSchema.js';
import type { ReminderSecrets } from './secrets.js';

/** A person who may get a patient's reminders, with their active contacts. */
export type Recipient = {
  /** Null for the patient. */
  caregiverId: string | null;
  isReminded: boolean;
  /** For a caregiver. */
  toldNotBegun: boolean;
  toldOfWarnings: boolean;
  /** When a consent about them was last given. */
  agreedAtMs: number;
  contactIds: string[];
  /** In addition, contacts that unsubscribed from reminders but not from warning signs. */
  warningContactIds: string[];
};

/**
 * The patient and the caregivers, with their consents. An email address in a record is a contact by itself: it is
 * created on first sight, and ends when the record has a different one.
 */
export async function recipientsOf(
  db: Db,
  { clinicId, patient, nowMs }: { clinicId: string; patient: Patient; nowMs: number },
  secrets: ReminderSecrets,
): Promise<Recipient[]> {
  const consents = await consentsOf(db, patient.id);
  const hasAgreed = (kind: ConsentKind, caregiverId: string | null) =>
    consents.some((each) => each.kind === kind && each.caregiverId === caregiverId && each.isGiven);
  const agreedMs = await lastAgreedMs(db, patient.id);
  const contacts = async (owner: ContactOwner, emails: readonly string[]) => {
    const known = await contactsNow(db, { clinicId, owner, emails, nowMs }, secrets);
    return { contactIds: standingAmong(known), warningContactIds: unsubscribedAmong(known, emails) };
  };
  const recipients: Recipient[] = [
    {
      caregiverId: null,
      isReminded: hasAgreed('reminders', null),
      toldNotBegun: false,
      toldOfWarnings: false,
      agreedAtMs: agreedMs.get(null) ?? 0,
      ...(await contacts({ patientId: patient.id }, emailsIn([patient.email]))),
    },
  ];
  for (const { id, personId } of await caregiversOf(db, patient.id)) {
    recipients.push({
      caregiverId: id,
      isReminded: hasAgreed('caregiver-reminded', id),
      toldNotBegun: hasAgreed('caregiver-told-not-begun', id),
      toldOfWarnings: hasAgreed('caregiver-told-of-warnings', id),
      agreedAtMs: agreedMs.get(id) ?? 0,
      ...(await contacts({ caregiverPersonId: personId }, emailsIn(await emailsOfCaregiver(db, personId)))),
    });
  }
  return recipients;
}

/**
 * How a person is reached: the email addresses in their records, and whether failed addresses are tried too.
 */
export type Sought = {
  clinicId: string;
  owner: ContactOwner;
  emails: readonly string[];
  /** Including addresses that were given up: for warning signs, which must not be lost. */
  triesAll?: boolean;
  nowMs: number;
};

/** The ids of a person's active contacts; contacts for new email addresses are created. */
export async function ensureContacts(db: Db, sought: Sought, secrets: ReminderSecrets): Promise<string[]> {
  return standingAmong(await contactsNow(db, sought, secrets));
}

/** All contacts of a person, oldest first; contacts for new email addresses are created. */
async function contactsNow(
  db: Db,
  { clinicId, owner, emails, triesAll = false, nowMs }: Sought,
  { unsubscribeHashOf }: ReminderSecrets,
): Promise<Contact[]> {
  const known = await contactsOf(db, clinicId, owner);
  const wanted = emails.map((email) => JSON.stringify(email));
  const isOutdated = ({ channel, address, endedAtMs }: Contact) =>
    channel === 'mail' && endedAtMs === null && !wanted.includes(address);
  const outdated = known.filter(isOutdated);
  let isChanged = outdated.length > 0;
  for (const { id } of outdated) await endContact(db, id, { why: 'replaced', nowMs, isPlanning: true });
  for (const address of wanted) {
    const last = known.findLast((each) => each.channel === 'mail' && each.address === address);
    // An address that was unsubscribed or no longer exists is not used again automatically.
    if (last !== undefined && (triesAll ? last.endedWhy === null : last.endedWhy !== 'replaced')) continue;
    const contact = { clinicId, owner, channel: 'mail', address, unsubscribeHashOf, nowMs } as const;
    await addContact(db, { ...contact, isPlanning: true });
    isChanged = true;
  }
  return isChanged ? contactsOf(db, clinicId, owner) : known;
}

function standingAmong(contacts: readonly Contact[]): string[] {
  return contacts.filter(({ endedAtMs }) => endedAtMs === null).map(({ id }) => id);
}

/**
 * Unsubscribing from reminders does not mean not wanting to know when something is wrong. An address that is no longer
 * theirs is excluded: someone else may read it.
 */
function unsubscribedAmong(known: readonly Contact[], emails: readonly string[]): string[] {
  const wanted = emails.map((email) => JSON.stringify(email));
  const last = new Map(known.map((each) => [`${each.channel} ${each.address}`, each]));
  return [...last.values()]
    .filter(({ channel, address }) => channel !== 'mail' || wanted.includes(address))
    .filter(({ endedWhy }) => endedWhy === 'unsubscribed')
    .map(({ id }) => id);
}

function emailsIn(emails: readonly string[]): string[] {
  return [...new Set(emails.map((email) => email.trim().toLowerCase()).filter((email) => email !== ''))];
}
