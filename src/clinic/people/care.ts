import { z } from 'zod';
import { auditActor } from '../../store/accounts/audit.js';
import { lockPatient } from '../../store/attention/patientChanged.js';
import {
  addCaregiver,
  caregiversOf,
  caregiversOfClinic,
  endCaregiver,
  recordConsent,
} from '../../store/people/caregivers.js';
import { consentKinds } from '../../store/schema/peopleSchema.js';
import { type Actor, clinicDayOf, requireMayWrite } from '../actor.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { requiredText, text } from '../values.js';
import { findOwnPatient } from './chart.js';

export const caregiverSchema = z.strictObject({
  name: requiredText(200),
  relation: text(100).default(''),
  phone: text(60).default(''),
  email: z.union([z.literal(''), z.email({ error: 'an email address' }).max(254)]).default(''),
  /** The id of someone who already cares for another of the clinic's patients, so that one link works for all. */
  personId: z.uuid().nullable().default(null),
});

export const consentSchema = z.strictObject({
  kind: z.enum(consentKinds),
  /** Null if it concerns no caregiver. */
  caregiverId: z.uuid().nullable(),
  isGiven: z.boolean(),
  onDate: z.iso.date({ error: 'a date such as 2026-11-25' }),
  note: text(300).default(''),
});

/** Consents that concern one caregiver. */
export const caregiverConsentKinds = consentKinds.filter((kind) => kind.startsWith('caregiver-'));

/** @throws Refused for a read-only member, or if there is no such patient */
export async function linkCaregiver(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  caregiver: z.infer<typeof caregiverSchema>,
): Promise<string> {
  requireMayWrite(actor);
  return store.write(async (db) => {
    await findOwnPatient(db, actor, patientId);
    const { personId, ...details } = caregiver;
    const { clinicId } = actor.clinician;
    const isKnown = (await caregiversOfClinic(db, clinicId)).some((each) => each.personId === personId);
    if (personId !== null && !isKnown) throw refused('no-such-caregiver');
    const id = await addCaregiver(db, patientId, details, { personId, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'caregiver-linked' });
    return id;
  });
}

/** Ends a caregiver's access. @throws Refused as {@link linkCaregiver}, or if there is none */
export async function unlinkCaregiver(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    await findOwnPatient(db, actor, patientId);
    if (!(await endCaregiver(db, patientId, { id, nowMs: actor.nowMs }))) {
      throw refused('no-such-caregiver');
    }
    await auditActor(db, actor, { patientId, subject: id, action: 'caregiver-unlinked' });
  });
}

/**
 * Records a patient's consent, or its withdrawal, and the day.
 *
 * @throws Refused as {@link linkCaregiver}; also for a future day, or if a caregiver is missing or not allowed
 */
export async function saveConsent(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  consent: z.infer<typeof consentSchema>,
): Promise<void> {
  requireMayWrite(actor);
  const isAboutCaregiver = caregiverConsentKinds.includes(consent.kind);
  if (consent.onDate > clinicDayOf(actor)) {
    throw refused('day-ahead', { field: 'onDate', found: consent.onDate });
  }
  await store.write(async (db) => {
    await findOwnPatient(db, actor, patientId);
    await lockPatient(db, patientId);
    const caregivers = await caregiversOf(db, patientId);
    const isKnown = caregivers.some(({ id }) => id === consent.caregiverId);
    if (isAboutCaregiver ? !isKnown : consent.caregiverId !== null) {
      throw refused('caregiver-not-fitting', { field: 'caregiverId' });
    }
    const consentRow = { ...consent, patientId, clinicianId: actor.clinician.id, nowMs: actor.nowMs };
    await recordConsent(db, consentRow);
    await auditActor(db, actor, { patientId, subject: consent.kind, action: 'consent-noted' });
  });
}
