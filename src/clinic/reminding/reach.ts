import { textAddressSchema } from '../../channels/text.js';
import type { Db } from '../../store/engine/openStore.js';
import { linkOf } from '../../store/listening/listeningLinks.js';
import { type Caregiver, caregiversOf, consentsOf } from '../../store/people/caregivers.js';
import type { Patient } from '../../store/people/chart.js';
import { type Contact, type ContactOwner, contactsOf } from '../../store/people/contacts.js';
import type { ConsentKind } from '../../store/schema/peopleSchema.js';
import type { ChannelName } from '../../store/schema/reminderSchema.js';

/** One way to reach someone. */
export type Way = {
  /** Null for an email address from the record before its first use. */
  contactId: string | null;
  channel: ChannelName;
  /** The email address or number in readable form; null for a phone or browser, which has none. */
  address: string | null;
  /** Null if nothing has been recorded about it yet. */
  sinceMs: number | null;
};
type EndedWay = Way & Pick<Contact, 'endedWhy'> & { endedAtMs: number; mayBegin: boolean };

/** A person who may get messages about a patient, with consents and contacts. */
export type Reached = {
  /** Null for the patient. */
  caregiverId: string | null;
  name: string;
  isReminded: boolean;
  /** For a caregiver: whether they are notified when a session has not started. */
  toldNotBegun: boolean;
  /** For a caregiver: whether they are notified of warning signs. */
  toldOfWarnings: boolean;
  hasLink: boolean;
  ways: Way[];
  ended: EndedWay[];
};

/** The patient, then the caregivers by name. */
export async function readReach(
  db: Db,
  { clinicId, patient, nowMs }: { clinicId: string; patient: Patient; nowMs: number },
): Promise<Reached[]> {
  const consents = await consentsOf(db, patient.id);
  const hasAgreed = (kind: ConsentKind, caregiverId: string | null) =>
    consents.some((each) => each.kind === kind && each.caregiverId === caregiverId && each.isGiven);
  const reached = async (
    owner: Exclude<ContactOwner, { clinicianId: string }>,
    { email }: Pick<Caregiver, 'email'>,
  ) => ({
    hasLink: (await linkOf(db, clinicId, owner, nowMs)) !== null,
    ...waysOf(await contactsOf(db, clinicId, owner), email.trim().toLowerCase()),
  });
  const people: Reached[] = [
    {
      caregiverId: null,
      name: patient.name,
      isReminded: hasAgreed('reminders', null),
      toldNotBegun: false,
      toldOfWarnings: false,
      ...(await reached({ patientId: patient.id }, patient)),
    },
  ];
  for (const caregiver of await caregiversOf(db, patient.id)) {
    people.push({
      caregiverId: caregiver.id,
      name: caregiver.name,
      isReminded: hasAgreed('caregiver-reminded', caregiver.id),
      toldNotBegun: hasAgreed('caregiver-told-not-begun', caregiver.id),
      toldOfWarnings: hasAgreed('caregiver-told-of-warnings', caregiver.id),
      ...(await reached({ caregiverPersonId: caregiver.personId }, caregiver)),
    });
  }
  return people;
}

/** @param email from the record: a contact by itself, until it is ended */
function waysOf(contacts: readonly Contact[], email: string): { ways: Way[]; ended: EndedWay[] } {
  const readable = contacts.map((contact) => ({ ...contact, shown: readableAddress(contact) }));
  const ways = readable.flatMap(({ id, channel, shown, createdAtMs, endedAtMs }): Way[] =>
    endedAtMs === null ? [{ contactId: id, channel, address: shown, sinceMs: createdAtMs }] : [],
  );
  const isStanding = ({ channel, shown }: { channel: ChannelName; shown: string | null }) =>
    ways.some((way) => way.channel === channel && way.address === shown);
  // Only the last end of each address reflects the current state; a phone that is gone is of no further use.
  const lastEnds = new Map(
    readable
      .filter((each) => each.channel !== 'push' && each.endedWhy !== 'replaced' && !isStanding(each))
      .map((each) => [each.address, each]),
  );
  const ended = [...lastEnds.values()].flatMap(
    ({ id, channel, shown, createdAtMs, endedAtMs, endedWhy }): EndedWay[] => {
      if (endedAtMs === null) return [];
      const way = { contactId: id, channel, address: shown, sinceMs: createdAtMs };
      return [{ ...way, endedAtMs, endedWhy, mayBegin: channel !== 'mail' || shown === email }];
    },
  );
  const isKnown = [...ways, ...ended].some(({ channel, address }) => channel === 'mail' && address === email);
  const fromRecord: Way = { contactId: null, channel: 'mail', address: email, sinceMs: null };
  return { ways: email === '' || isKnown ? ways : [fromRecord, ...ways], ended };
}

function readableAddress({ channel, address }: Pick<Contact, 'channel' | 'address'>): string | null {
  const value: unknown = JSON.parse(address);
  if (channel === 'mail') return typeof value === 'string' ? value : null;
  return channel === 'text' ? (textAddressSchema.safeParse(value).data?.to ?? null) : null;
}
