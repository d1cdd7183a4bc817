import { z } from 'zod';
import { inputError } from '../../errors/stillcountError.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import {
  addCaregiver,
  caregiversOf,
  caregiversOfClinic,
  endCaregiver,
  recordConsent,
} from '../../store/people/caregivers.js';
import { consentKinds } from '../../store/schema/schema.js';
import { type Actor, dayOf, note, requireMayWrite } from '../actor.js';
import { notFound } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { line, text } from '../values.js';
import { ownPatient } from './openRecord.js';

export const caregiverSchema = z.strictObject({
  name: line(200),
  relation: text(100).default(''),
  phone: text(60).default(''),
  email: z.union([z.literal(''), z.email({ error: 'an email address' }).max(254)]).default(''),
  /** Of somebody who cares for another patient of the clinic already, so that one link serves for all. */
  personId: z.uuid().nullable().default(null),
});

export const consentSchema = z.strictObject({
  kind: z.enum(consentKinds),
  /** Null for what concerns no caregiver. */
  caregiverId: z.uuid().nullable(),
  isGiven: z.boolean(),
  onDate: z.iso.date({ error: 'a day such as 2026-11-25' }),
  note: text(300).default(''),
});

/** Consents that are about one caregiver. */
export const caregiverConsentKinds = consentKinds.filter((kind) => kind.startsWith('caregiver-'));

/** @throws Refusal for somebody who may only read, or when there is no such person */
export async function linkCaregiver(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  caregiver: z.infer<typeof caregiverSchema>,
): Promise<string> {
  requireMayWrite(actor);
  return store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    const { personId, ...details } = caregiver;
    const { clinicId } = actor.clinician;
    const isKnown = (await caregiversOfClinic(db, clinicId)).some((each) => each.personId === personId);
    if (personId !== null && !isKnown) throw notFound('There is no such caregiver here');
    const id = await addCaregiver(db, patientId, details, { personId, nowMs: actor.nowMs });
    await note(db, actor, { patientId, subject: id, action: 'caregiver-linked' });
    return id;
  });
}

/** Ends what a caregiver may see and receive. @throws Refusal as {@link linkCaregiver}, or when there is none */
export async function unlinkCaregiver(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    if (!(await endCaregiver(db, patientId, { id, nowMs: actor.nowMs }))) {
      throw notFound('There is no such caregiver here');
    }
    await note(db, actor, { patientId, subject: id, action: 'caregiver-unlinked' });
  });
}

/**
 * Writes down what a patient agreed to, or took back, on which day.
 *
 * @throws Refusal as {@link linkCaregiver}; StillcountError kind `input` for a day to come, or a caregiver missing or
 *   out of place
 */
export async function noteConsent(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  consent: z.infer<typeof consentSchema>,
): Promise<void> {
  requireMayWrite(actor);
  const isAboutCaregiver = caregiverConsentKinds.includes(consent.kind);
  if (consent.onDate > dayOf(actor)) {
    throw inputError({ path: 'onDate', message: 'this date is in the future', found: consent.onDate });
  }
  await store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    await lockPatient(db, patientId);
    const caregivers = await caregiversOf(db, patientId);
    const isKnown = caregivers.some(({ id }) => id === consent.caregiverId);
    if (isAboutCaregiver ? !isKnown : consent.caregiverId !== null) {
      throw inputError({
        path: 'caregiverId',
        message: 'this consent and this caregiver do not go together',
      });
    }
    const said = { ...consent, patientId, clinicianId: actor.clinician.id, nowMs: actor.nowMs };
    await recordConsent(db, said);
    await note(db, actor, { patientId, subject: consent.kind, action: 'consent-noted' });
  });
}
