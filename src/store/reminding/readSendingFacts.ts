import { dayMs } from '../../time/units.js';
import { findUnplayable } from '../attention/patientChanged.js';
import type { Db } from '../engine/db.js';
import { noFacts, type SendingFacts } from './sendingFacts.js';
import {
  byPatient,
  caregiversOf,
  consentsOf,
  contactsOf,
  heldOf,
  linksOf,
  peopleOf,
} from './sendingPeople.js';
import { heardOf, ownRemindersOf, programsOf, putOffOf } from './sendingPrograms.js';

export type AskedFor = {
  contactIds: readonly string[];
  patientIds: readonly string[];
  prescriptionIds: readonly string[];
};

/** @param sinceMs how far back finished and skipped sessions are read */
export async function readSendingFacts(
  db: Db,
  { contactIds, patientIds, prescriptionIds }: AskedFor,
  { sinceMs, nowMs }: { sinceMs: number; nowMs: number },
): Promise<SendingFacts> {
  const contacts = await contactsOf(db, contactIds);
  const facts = { ...noFacts, contacts: new Map(contacts.map((each) => [each.id, each])) };
  if (patientIds.length === 0) return facts;
  const [patients, rules, breaks] = [
    await peopleOf(db, patientIds),
    await db.selectFrom('reminderRules').selectAll().where('patientId', 'in', patientIds).execute(),
    await db
      .selectFrom('careBreak')
      .select(['patientId', 'fromDay', 'untilDay'])
      .where('patientId', 'in', patientIds)
      .where('removedAtMs', 'is', null)
      .execute(),
  ];
  const programs = await programsOf(db, prescriptionIds, sinceMs);
  const damaged = [...programs].filter(([, { versions }]) => versions[0]?.content === null);
  return {
    ...facts,
    patients: new Map(patients.map((each) => [each.id, each])),
    rules: new Map(rules.map((each) => [each.patientId, each])),
    breaks: byPatient(breaks),
    programs,
    notPlayed: new Map([
      ...damaged.map(([id]) => [id, nowMs] as const),
      ...(await findUnplayable(db, patientIds)),
    ]),
    consents: await consentsOf(db, patientIds),
    caregivers: await caregiversOf(db, patientIds),
    heldPatients: await heldOf(db, patientIds),
    ...(await heardOf(db, patientIds, sinceMs)),
    ...(await putOffOf(db, patientIds, sinceMs)),
    ownReminders: await ownRemindersOf(db, patientIds, nowMs - dayMs),
    links: await linksOf(db, contacts, nowMs),
  };
}
