import { randomUUID } from 'node:crypto';
import { schedulePlanning } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import type { ConsentKind } from '../schema/peopleSchema.js';

export type CaregiverDetails = { name: string; relation: string; phone: string; email: string };
export type Caregiver = CaregiverDetails & { id: string; personId: string };

/** A patient's consents, as last recorded. */
export type Consent = {
  kind: ConsentKind;
  caregiverId: string | null;
  isGiven: boolean;
  onDate: string;
  note: string;
  clinicianName: string;
};

/**
 * Adds a caregiver of a patient whom the caller has checked to be of the clinic.
 *
 * @param personId of someone who already cares for another of the clinic's patients; null for someone new
 */
export async function addCaregiver(
  db: Db,
  patientId: string,
  details: CaregiverDetails,
  { personId, nowMs }: { personId: string | null; nowMs: number },
): Promise<string> {
  const id = randomUUID();
  await db
    .insertInto('caregiver')
    .values({ id, personId: personId ?? id, patientId, ...details, createdAtMs: nowMs, endedAtMs: null })
    .execute();
  await schedulePlanning(db, patientId);
  return id;
}

/** A patient's caregivers, by name. */
export async function caregiversOf(db: Db, patientId: string): Promise<Caregiver[]> {
  return db
    .selectFrom('caregiver')
    .select(['id', 'personId', 'name', 'relation', 'phone', 'email'])
    .where('patientId', '=', patientId)
    .where('endedAtMs', 'is', null)
    .orderBy('name')
    .orderBy('id')
    .execute();
}

/** The email addresses of one caregiver, who may be in the records of several patients. */
export async function emailsOfCaregiver(db: Db, personId: string): Promise<string[]> {
  const rows = await db
    .selectFrom('caregiver')
    .select('email')
    .distinct()
    .where('personId', '=', personId)
    .where('endedAtMs', 'is', null)
    .execute();
  return rows.map(({ email }) => email);
}

/** Everyone who cares for patients of a clinic, once each, by name. */
export async function caregiversOfClinic(
  db: Db,
  clinicId: string,
): Promise<{ personId: string; name: string; patientNames: string[] }[]> {
  const rows = await db
    .selectFrom('caregiver')
    .innerJoin('patient', 'patient.id', 'caregiver.patientId')
    .select(['caregiver.personId', 'caregiver.name', 'patient.name as patientName'])
    .where('patient.clinicId', '=', clinicId)
    .where('caregiver.endedAtMs', 'is', null)
    .orderBy('caregiver.name')
    .orderBy('patient.searchName')
    .execute();
  const people = new Map<string, { personId: string; name: string; patientNames: string[] }>();
  for (const { personId, name, patientName } of rows) {
    const known = people.get(personId);
    if (known === undefined) people.set(personId, { personId, name, patientNames: [patientName] });
    else known.patientNames.push(patientName);
  }
  return [...people.values()];
}

/** The patients someone cares for in a clinic, each with the row that connects the two. */
export async function listCaredFor(
  db: Db,
  clinicId: string,
  personId: string,
): Promise<{ caregiverId: string; patientId: string }[]> {
  return db
    .selectFrom('caregiver')
    .innerJoin('patient', 'patient.id', 'caregiver.patientId')
    .select(['caregiver.id as caregiverId', 'caregiver.patientId'])
    .where('caregiver.personId', '=', personId)
    .where('caregiver.endedAtMs', 'is', null)
    .where('patient.clinicId', '=', clinicId)
    .orderBy('patient.searchName')
    .orderBy('caregiver.id')
    .execute();
}

/** Ends a caregiver's access; past consents stay on record. @returns false if there is none */
export async function endCaregiver(
  db: Db,
  patientId: string,
  { id, nowMs }: { id: string; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('caregiver')
    .set({ endedAtMs: nowMs })
    .where('id', '=', id)
    .where('patientId', '=', patientId)
    .where('endedAtMs', 'is', null)
    .executeTakeFirst();
  if (result.numUpdatedRows !== 1n) return false;
  await schedulePlanning(db, patientId);
  return true;
}

/** Records that a patient gave or withdrew a consent. Runs in a transaction. */
export async function recordConsent(
  db: Db,
  consent: {
    patientId: string;
    caregiverId: string | null;
    kind: ConsentKind;
    isGiven: boolean;
    onDate: string;
    note: string;
    clinicianId: string;
    nowMs: number;
  },
): Promise<void> {
  const { nowMs, isGiven, ...columns } = consent;
  const last = await db
    .selectFrom('consent')
    .select(({ fn }) => fn.max('number').as('number'))
    .where('patientId', '=', consent.patientId)
    .executeTakeFirst();
  const number = Number(last?.number ?? 0) + 1;
  await db
    .insertInto('consent')
    .values({ id: randomUUID(), ...columns, number, isGiven: isGiven ? 1 : 0, atMs: nowMs })
    .execute();
  await schedulePlanning(db, consent.patientId);
}

/** The newest of each kind, and per caregiver where it concerns one. What was never asked counts as not given. */
export async function consentsOf(db: Db, patientId: string): Promise<Consent[]> {
  const rows = await db
    .selectFrom('consent')
    .innerJoin('clinician', 'clinician.id', 'consent.clinicianId')
    .select(['consent.kind', 'consent.caregiverId', 'consent.isGiven', 'consent.onDate', 'consent.note'])
    .select('clinician.name as clinicianName')
    .where('consent.patientId', '=', patientId)
    .orderBy('consent.number')
    .execute();
  const newest = new Map(rows.map((row) => [`${row.kind} ${row.caregiverId ?? ''}`, row]));
  return [...newest.values()].map((row) => ({ ...row, isGiven: row.isGiven === 1 }));
}

/**
 * When a consent about a patient, or about one of their caregivers, was last recorded; by caregiver, null for the
 * patient.
 */
export async function lastAgreedMs(db: Db, patientId: string): Promise<ReadonlyMap<string | null, number>> {
  const rows = await db
    .selectFrom('consent')
    .select(({ fn }) => ['caregiverId', fn.max('atMs').as('atMs')])
    .where('patientId', '=', patientId)
    .groupBy('caregiverId')
    .execute();
  return new Map(rows.map(({ caregiverId, atMs }) => [caregiverId, Number(atMs)]));
}
