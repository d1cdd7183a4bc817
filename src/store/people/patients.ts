import { randomUUID } from 'node:crypto';
import { sql } from 'kysely';
import { scheduleAfterChange, schedulePlanning } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import { endContact } from './contacts.js';

/** What a clinician records about a patient. */
export type PatientDetails = {
  name: string;
  spokenName: string;
  sayAs: string;
  birthYear: number | null;
  language: string;
  zone: string;
  phone: string;
  email: string;
  hearingNotes: string;
  goals: readonly string[];
};

/** A patient's entry in the list. */
export type ListedPatient = { id: string; name: string; birthYear: number | null; zone: string };

const pageSize = 50;

/** Lower case and without accents, so that "jose" finds "José". */
export function searchNameOf(name: string): string {
  return name.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().replace(/\s+/g, ' ').trim();
}

export async function createPatient(
  db: Db,
  clinicId: string,
  details: PatientDetails,
  nowMs: number,
): Promise<string> {
  const id = randomUUID();
  await db
    .insertInto('patient')
    .values({ id, clinicId, ...columnsOf(details), createdAtMs: nowMs, revision: 1 })
    .execute();
  await scheduleAfterChange(db, id);
  return id;
}

/** @returns false if someone else has changed the record since `revision`; nothing is changed then. */
export async function changePatient(
  db: Db,
  clinicId: string,
  change: { id: string; revision: number; details: PatientDetails; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('patient')
    .set({ ...columnsOf(change.details), revision: change.revision + 1 })
    .where('id', '=', change.id)
    .where('clinicId', '=', clinicId)
    .where('revision', '=', change.revision)
    .executeTakeFirst();
  if (result.numUpdatedRows !== 1n) return false;
  await endOtherMail(db, change);
  await schedulePlanning(db, change.id);
  return true;
}

/** Nothing more goes to an address that is no longer the patient's, including what is about to be sent. */
async function endOtherMail(
  db: Db,
  { id, details, nowMs }: { id: string; details: PatientDetails; nowMs: number },
): Promise<void> {
  const contacts = await db
    .selectFrom('contact')
    .select(['id', 'address'])
    .where('patientId', '=', id)
    .where('channel', '=', 'mail')
    .where('endedAtMs', 'is', null)
    .execute();
  const address = JSON.stringify(details.email.trim().toLowerCase());
  for (const contact of contacts.filter((each) => each.address !== address)) {
    await endContact(db, contact.id, { why: 'replaced', nowMs });
  }
}

/**
 * Patients of a clinic by name, fifty at a time.
 *
 * @param search parts of the name, in any order; empty for all
 * @param after the id of the last one on the previous page
 */
export async function listPatients(
  db: Db,
  clinicId: string,
  search: string,
  after?: string,
): Promise<{ patients: ListedPatient[]; hasMore: boolean }> {
  let query = db
    .selectFrom('patient')
    .select(['id', 'name', 'birthYear', 'zone'])
    .where('clinicId', '=', clinicId);
  for (const word of searchNameOf(search).split(' ').filter(Boolean)) {
    const escaped = word.replace(/[!%_]/g, (sign) => `!${sign}`);
    query = query.where(sql<boolean>`${sql.ref('searchName')} like ${`%${escaped}%`} escape '!'`);
  }
  const last = after === undefined ? undefined : await placeOf(db, clinicId, after);
  if (last !== undefined) {
    query = query.where(({ eb, and, or }) =>
      or([
        eb('searchName', '>', last.searchName),
        and([eb('searchName', '=', last.searchName), eb('id', '>', last.id)]),
      ]),
    );
  }
  const found = await query
    .orderBy('searchName')
    .orderBy('id')
    .limit(pageSize + 1)
    .execute();
  return { patients: found.slice(0, pageSize), hasMore: found.length > pageSize };
}

function placeOf(db: Db, clinicId: string, id: string) {
  return db
    .selectFrom('patient')
    .select(['id', 'searchName'])
    .where('id', '=', id)
    .where('clinicId', '=', clinicId)
    .executeTakeFirst();
}

function columnsOf(details: PatientDetails) {
  return {
    ...details,
    goals: JSON.stringify(details.goals),
    searchName: searchNameOf(details.name),
  };
}
