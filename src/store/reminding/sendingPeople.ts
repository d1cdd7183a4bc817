import type { Db } from '../engine/db.js';
import { consentKey, noFacts, type SendingContact } from './sendingFacts.js';

export function byPatient<Row extends { patientId: string }>(rows: readonly Row[]): Map<string, Row[]> {
  const found = new Map<string, Row[]>();
  for (const row of rows) found.set(row.patientId, [...(found.get(row.patientId) ?? []), row]);
  return found;
}

export async function contactsOf(db: Db, ids: readonly string[]): Promise<SendingContact[]> {
  if (ids.length === 0) return [];
  const rows = await db
    .selectFrom('contact')
    .leftJoin('clinician', 'clinician.id', 'contact.clinicianId')
    .select(['contact.id', 'contact.channel', 'contact.address', 'contact.endedAtMs', 'contact.endedWhy'])
    .select(['contact.patientId', 'contact.caregiverPersonId', 'contact.clinicianId'])
    .select('clinician.endedAtMs as clinicianEndedAtMs')
    .where('contact.id', 'in', ids)
    .execute();
  return rows.map(({ endedAtMs, endedWhy, clinicianEndedAtMs, ...row }) => ({
    ...row,
    isOpen: endedAtMs === null && clinicianEndedAtMs === null,
    takesWarnings: (endedAtMs === null || endedWhy === 'unsubscribed') && clinicianEndedAtMs === null,
    hasAccount: row.clinicianId !== null && clinicianEndedAtMs === null,
  }));
}

export function peopleOf(db: Db, patientIds: readonly string[]) {
  return db
    .selectFrom('patient')
    .innerJoin('clinic', 'clinic.id', 'patient.clinicId')
    .select(['patient.id', 'patient.spokenName', 'patient.name', 'patient.zone'])
    .select(['clinic.name as clinicName', 'clinic.phone', 'clinic.emergencyNumber'])
    .where('patient.id', 'in', patientIds)
    .execute();
}

export async function consentsOf(db: Db, patientIds: readonly string[]): Promise<ReadonlySet<string>> {
  const rows = await db
    .selectFrom('consent')
    .select(['patientId', 'kind', 'caregiverId', 'isGiven'])
    .where('patientId', 'in', patientIds)
    .orderBy('number')
    .execute();
  const given = new Set<string>();
  for (const { patientId, kind, caregiverId, isGiven } of rows) {
    const key = consentKey(patientId, kind, caregiverId);
    if (isGiven === 1) given.add(key);
    else given.delete(key);
  }
  return given;
}

export async function caregiversOf(db: Db, patientIds: readonly string[]): Promise<ReadonlySet<string>> {
  const rows = await db
    .selectFrom('caregiver')
    .select('id')
    .where('patientId', 'in', patientIds)
    .where('endedAtMs', 'is', null)
    .execute();
  return new Set(rows.map(({ id }) => id));
}

export async function heldOf(db: Db, patientIds: readonly string[]): Promise<ReadonlySet<string>> {
  const rows = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .select('warning.patientId')
    .distinct()
    .where('warning.patientId', 'in', patientIds)
    .where('warningAnswer.warningId', 'is', null)
    .execute();
  return new Set(rows.map(({ patientId }) => patientId));
}

export async function linksOf(
  db: Db,
  contacts: readonly SendingContact[],
  nowMs: number,
): Promise<ReadonlyMap<string, string>> {
  const patientIds = contacts.flatMap(({ patientId }) => patientId ?? []);
  const personIds = contacts.flatMap(({ caregiverPersonId }) => caregiverPersonId ?? []);
  if (patientIds.length + personIds.length === 0) return noFacts.links;
  const rows = await db
    .selectFrom('listeningLink')
    .select(['id', 'patientId', 'caregiverPersonId'])
    .where('revokedAtMs', 'is', null)
    .where('expiresAtMs', '>', nowMs)
    .where(({ eb, or }) =>
      or([
        ...(patientIds.length === 0 ? [] : [eb('patientId', 'in', patientIds)]),
        ...(personIds.length === 0 ? [] : [eb('caregiverPersonId', 'in', personIds)]),
      ]),
    )
    .execute();
  return new Map(
    rows.map(({ id, patientId, caregiverPersonId }) => [patientId ?? caregiverPersonId ?? '', id]),
  );
}
