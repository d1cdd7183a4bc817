import { z } from 'zod';
import { spokenNameSchema } from '../../program/schema.js';
import { auditActor } from '../../store/accounts/audit.js';
import type { Patient } from '../../store/people/chart.js';
import { changePatient, createPatient } from '../../store/people/patients.js';
import { type Actor, requireMayWrite } from '../actor.js';
import type { Result } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { requiredText, text, zoneSchema } from '../values.js';

const earliestBirthYear = 1900;
const latestBirthYear = 2100;

/** A patient's details; a spoken name that is left out is guessed from the name. */
export const personSchema = z.strictObject({
  name: requiredText(500),
  spokenName: z.union([z.literal(''), spokenNameSchema]).default(''),
  sayAs: z.union([z.literal(''), spokenNameSchema]).default(''),
  birthYear: z.int().min(earliestBirthYear).max(latestBirthYear).nullable().default(null),
  zone: zoneSchema,
  phone: text(60).default(''),
  email: z.union([z.literal(''), z.email({ error: 'an email address' }).max(254)]).default(''),
  hearingNotes: text(500).default(''),
  goals: z.array(text(300)).max(20).default([]),
});
export type Person = z.infer<typeof personSchema>;

/** @returns the new patient's id. @throws Refused for a read-only member */
export async function addPerson(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  person: Person,
): Promise<string> {
  requireMayWrite(actor);
  return store.write(async (db) => {
    const id = await createPatient(db, actor.clinician.clinicId, detailsOf(person), actor.nowMs);
    await auditActor(db, actor, { patientId: id, subject: id, action: 'patient-added' });
    return id;
  });
}

/**
 * @param revision the revision that the change is based on
 * @returns refused as `changed-meanwhile` if someone else has changed the patient since then
 * @throws Refused for a read-only member
 */
export async function changePerson(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  { id, revision, person }: Pick<Patient, 'id' | 'revision'> & { person: Person },
): Promise<Result<null>> {
  requireMayWrite(actor);
  const change = { id, revision, details: detailsOf(person), nowMs: actor.nowMs };
  return store.write(async (db) => {
    const isChanged = await changePatient(db, actor.clinician.clinicId, change);
    if (!isChanged) return { kind: 'refused', refusals: [{ code: 'changed-meanwhile' }] };
    await auditActor(db, actor, { patientId: id, subject: id, action: 'patient-changed' });
    return { kind: 'done', value: null };
  });
}

/** The first word of a name is a friendly guess if nothing else is given and it can be spoken. */
function detailsOf(person: Person) {
  const [firstWord = ''] = person.name.split(/\s+/);
  const guess = spokenNameSchema.safeParse(firstWord).success ? firstWord : '';
  return { ...person, spokenName: person.spokenName || guess, language: 'en' };
}
