import { z } from 'zod';
import { auditActor } from '../../store/accounts/audit.js';
import { changeClinicContact } from '../../store/accounts/clinics.js';
import { type Actor, requireOwner } from '../actor.js';
import type { Resources } from '../resources/resources.js';
import { text } from '../values.js';

const number = text(40).regex(/^[\d\s()+/.-]*$/, { error: 'a phone number' });

/** Whom listeners call, and when their notes are read; empty if not entered. */
export const contactSchema = z.strictObject({
  phone: number,
  emergencyNumber: number,
  notesReading: text(160).optional(),
});

/** @throws Refused for everyone but an owner of the clinic */
export async function setContact(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  contact: z.infer<typeof contactSchema>,
): Promise<void> {
  requireOwner(actor);
  const { clinicId } = actor.clinician;
  await store.write(async (db) => {
    await changeClinicContact(db, clinicId, contact);
    await auditActor(db, actor, { patientId: null, subject: clinicId, action: 'clinic-contact-changed' });
  });
}
