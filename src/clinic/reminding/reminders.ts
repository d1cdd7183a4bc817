import { z } from 'zod';
import { textAddressSchema } from '../../channels/text.js';
import { auditActor } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import { caregiversOf } from '../../store/people/caregivers.js';
import {
  addContact,
  type Contact,
  type ContactOwner,
  contactsOf,
  endContact,
} from '../../store/people/contacts.js';
import { markFailuresSeen } from '../../store/reminding/deliveryLists.js';
import { saveReminderRules } from '../../store/reminding/reminderRules.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { findOwnPatient } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';

const timeOfDay = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, { error: 'a time such as 21:00' });
const within = (least: number, most: number) => {
  const error = `a whole number from ${least} to ${most}`;
  return z.int({ error }).min(least, { error }).max(most, { error });
};
/** Longer ones mean that day and night were mixed up. Our choice; no source. */
const longestQuietMinutes = 13 * 60;

/** A patient's reminder settings. The limits are our choices; no source. */
export const reminderRulesSchema = z
  .strictObject({
    quietFrom: timeOfDay,
    quietUntil: timeOfDay,
    graceMinutes: within(5, 240),
    caregiverAfterMinutes: within(10, 240).nullable(),
    quietAfterDays: within(1, 14),
  })
  .refine(
    ({ quietFrom, quietUntil }) =>
      (minutesOf(quietUntil) - minutesOf(quietFrom) + 24 * 60) % (24 * 60) <= longestQuietMinutes,
    { error: 'quiet hours can last at most 13 hours; are the two times reversed?', path: ['quietUntil'] },
  );

export const textContactSchema = z.strictObject({
  to: z
    .string()
    .transform(withoutSpaces)
    .refine((to) => textAddressSchema.safeParse({ to }).success && /^\+|[A-Za-z]/.test(to), {
      error:
        'a phone number with plus and country code, such as +43 1 2345678, or a name of letters, digits and hyphens',
    }),
  /** Null for the patient's own. */
  caregiverId: z.uuid().nullable(),
});

/** @throws Refused for a read-only member, or if there is no such patient */
export async function setReminderRules(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  rules: z.infer<typeof reminderRulesSchema>,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    await findOwnPatient(db, actor, patientId);
    await saveReminderRules(db, patientId, rules);
    await auditActor(db, actor, { patientId, subject: patientId, action: 'reminder-rules-changed' });
  });
}

/**
 * Adds a phone number or a speaker of the patient, or of one of their caregivers.
 *
 * @throws Refused as for {@link setReminderRules}; if this installation sends no text messages, or there is no such
 *   caregiver
 */
export async function addTextContact(
  {
    store,
    channelNames,
    reminderSecrets: { unsubscribeHashOf },
  }: Pick<Resources, 'store' | 'reminderSecrets' | 'channelNames'>,
  actor: Actor,
  patientId: string,
  { to, caregiverId }: z.infer<typeof textContactSchema>,
): Promise<void> {
  requireMayWrite(actor);
  if (!channelNames.has('text')) throw refused('text-messages-off');
  await store.write(async (db) => {
    const owner = (await ownersOf(db, actor, patientId)).find((each) => each.caregiverId === caregiverId);
    if (owner === undefined) throw refused('no-such-caregiver');
    const { clinicId } = actor.clinician;
    const contact = { clinicId, owner: owner.of, channel: 'text' as const, address: JSON.stringify({ to }) };
    const id = await addContact(db, { ...contact, unsubscribeHashOf, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'contact-added' });
  });
}

/** Stops sending to a contact. @throws Refused as for {@link setReminderRules}, or if there is no such contact */
export async function removeContact(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    await ownContact(db, actor, patientId, id);
    await endContact(db, id, { why: 'removed', nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'contact-removed' });
  });
}

/**
 * Resumes sending to an ended contact. Errors as for {@link removeContact}.
 *
 * @throws Refused for a phone or browser: it must give permission again itself
 */
export async function restoreContact(
  { store, reminderSecrets: { unsubscribeHashOf } }: Pick<Resources, 'store' | 'reminderSecrets'>,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    const { contact, owner } = await ownContact(db, actor, patientId, id);
    if (contact.channel === 'push') {
      throw refused('resume-on-device-only');
    }
    const { channel, address } = contact;
    const { clinicId } = actor.clinician;
    await addContact(db, { clinicId, owner, channel, address, unsubscribeHashOf, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'contact-added' });
  });
}

/**
 * Marks failed deliveries about a patient, or about no patient (null), as seen by a clinician.
 *
 * @throws Refused as for {@link setReminderRules}
 */
export async function acknowledgeFailures(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string | null,
): Promise<void> {
  requireMayWrite(actor);
  const { clinicId } = actor.clinician;
  await store.write(async (db) => {
    if (patientId !== null) await findOwnPatient(db, actor, patientId);
    await markFailuresSeen(db, clinicId, { patientId, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: patientId ?? clinicId, action: 'failures-seen' });
  });
}

/** The patient and the caregivers as owners of contacts. */
async function ownersOf(
  db: Db,
  actor: Actor,
  patientId: string,
): Promise<{ caregiverId: string | null; of: ContactOwner }[]> {
  await findOwnPatient(db, actor, patientId);
  const caregivers = await caregiversOf(db, patientId);
  return [
    { caregiverId: null, of: { patientId } },
    ...caregivers.map(({ id, personId }) => ({ caregiverId: id, of: { caregiverPersonId: personId } })),
  ];
}

async function ownContact(
  db: Db,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<{ contact: Contact; owner: ContactOwner }> {
  for (const { of } of await ownersOf(db, actor, patientId)) {
    const contact = (await contactsOf(db, actor.clinician.clinicId, of)).find((each) => each.id === id);
    if (contact !== undefined) return { contact, owner: of };
  }
  throw refused('no-such-contact');
}

function minutesOf(time: string): number {
  const [hours = 0, minutes = 0] = time.split(':').map(Number);
  return hours * 60 + minutes;
}

/** People write numbers with spaces, brackets and hyphens; a name keeps its hyphens. */
function withoutSpaces(typed: string): string {
  const text = typed.trim();
  return text.startsWith('+') ? text.replaceAll(/[\s()/.-]/g, '') : text;
}
