import { randomUUID } from 'node:crypto';
import { clinicById } from '../store/accounts/clinics.js';
import type { Db, Store } from '../store/engine/openStore.js';
import { contactsOf, moveDeliveries } from '../store/people/contacts.js';
import { type Claimed, insertDeliveries, type NewDelivery } from '../store/reminding/deliveries.js';
import type { SendingFacts } from '../store/reminding/sendingFacts.js';
import { dayMs } from '../time/units.js';
import type { Choice } from './choice.js';
import { ensureContacts } from './recipients.js';
import type { ReminderSecrets } from './secrets.js';

/** What members are notified of about their accounts. */
const accountNews = ['reset-link', 'owner-link', 'password', 'email'] as const;
export type AccountNews = (typeof accountNews)[number];

const goodForMs = dayMs;

/** The subject of a message about an account. @throws RangeError for a record with any other content */
export function parseAccountNews(subject: string | null): AccountNews {
  const found = accountNews.find((each) => each === subject);
  if (found === undefined) throw new RangeError('a message about an account without a subject');
  return found;
}

type Account = { clinicId: string; clinicianId: string; email: string };

/** Notifies a member, at the address of their account, of what happened to it. Runs in the transaction that does it. */
export async function notifyOfAccountChange(
  db: Db,
  { clinicId, clinicianId, email }: Account,
  { news, nowMs }: { news: AccountNews; nowMs: number },
  secrets: ReminderSecrets,
): Promise<void> {
  const recipients = { clinicId, owner: { clinicianId }, emails: [email], triesAll: true, nowMs };
  const contactIds = await ensureContacts(db, recipients, secrets);
  const planned = contactIds.map(
    (contactId): NewDelivery => ({
      key: `account ${randomUUID()}`,
      ...{ clinicId, patientId: null, kind: 'account', subject: news, contactId, caregiverId: null },
      ...{ prescriptionId: null, slot: null, slotDueAtMs: null },
      ...{ forAtMs: nowMs, nextAtMs: nowMs, goodUntilMs: nowMs + goodForMs },
    }),
  );
  await insertDeliveries(db, planned);
}

/**
 * Redirects what is waiting for a member's old address to the new one: a repeated warning sign must not be lost. Runs
 * in the transaction that changes the address, before anyone is notified of it.
 */
export async function redirectToNewAddress(
  db: Db,
  { clinicId, clinicianId, email }: Account,
  nowMs: number,
  secrets: ReminderSecrets,
): Promise<void> {
  const owner = { clinicianId };
  const before = await contactsOf(db, clinicId, owner);
  const outdated = before.filter(({ channel, endedAtMs }) => channel === 'mail' && endedAtMs === null);
  if (outdated.length === 0) return;
  await ensureContacts(db, { clinicId, owner, emails: [email], triesAll: true, nowMs }, secrets);
  const after = await contactsOf(db, clinicId, owner);
  const address = JSON.stringify(email);
  const standing = after.find((each) => each.address === address && each.endedAtMs === null);
  if (standing === undefined) return;
  for (const { id } of outdated) await moveDeliveries(db, id, standing.id);
}

/** Whether a member is still to be notified of what happened to their account, at the address it had then. */
export async function decideAccount(
  store: Store,
  { clinicId, contactId, goodUntilMs }: Claimed,
  { contacts }: SendingFacts,
  nowMs: number,
): Promise<Choice> {
  if (contacts.get(contactId)?.hasAccount !== true) return { do: 'drop', why: 'no-address' };
  if (nowMs >= goodUntilMs) return { do: 'fail', why: 'too-late' };
  const { name } = await store.read((db) => clinicById(db, clinicId));
  return { do: 'send', isLate: false, view: { clinicName: name } };
}
