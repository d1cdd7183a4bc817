import { sql } from 'kysely';
import { isUnwell } from '../../listening/report.js';
import { dayMs } from '../../time/units.js';
import { notPlayedOf } from '../attention/notPlayed.js';
import { programColumns, signedContent, stateOf, versionColumns } from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import type { ChannelName } from '../schema/reminderSchema.js';
import type { ConsentKind, PrescriptionState } from '../schema/schema.js';

/** Where a message would go. */
export type SendingContact = {
  id: string;
  channel: ChannelName;
  address: string;
  isOpen: boolean;
  /** Also true if only reminders were ended. */
  takesWarnings: boolean;
  /** For a clinician with an open account, even if the contact has ended. */
  hasAccount: boolean;
  patientId: string | null;
  caregiverPersonId: string | null;
  clinicianId: string | null;
};

/** `content` is null if it is damaged. */
type HeldVersion = { content: string | null; signedAtMs: number };
type ProgramThen = { state: PrescriptionState; versions: HeldVersion[] };

/** Everything that decides whether some messages are sent now, read at once for many of them. */
export type SendingFacts = {
  contacts: ReadonlyMap<string, SendingContact>;
  patients: ReadonlyMap<
    string,
    {
      spokenName: string;
      name: string;
      zone: string;
      clinicName: string;
      phone: string;
      emergencyNumber: string;
    }
  >;
  /** By patient; those with default settings are left out. */
  rules: ReadonlyMap<
    string,
    {
      quietFrom: string;
      quietUntil: string;
      graceMinutes: number;
      caregiverAfterMinutes: number | null;
      quietAfterDays: number;
    }
  >;
  breaks: ReadonlyMap<string, { fromDay: string; untilDay: string | null }[]>;
  /** By prescription; its versions in effect since the start of the period, newest first. */
  programs: ReadonlyMap<string, ProgramThen>;
  /** Programs that cannot be played as signed, or are damaged, each with the time this was found. */
  notPlayed: ReadonlyMap<string, number>;
  /** Consents given: patient, kind, caregiver or nothing, separated by spaces. */
  consents: ReadonlySet<string>;
  /** Caregivers who still care for their patient. */
  caregivers: ReadonlySet<string>;
  /** Patients with an unanswered warning sign. */
  heldPatients: ReadonlySet<string>;
  /** By prescription: slots of the last days that were started, and whether they were finished. */
  heard: ReadonlyMap<string, ReadonlyMap<string, 'done' | 'begun'>>;
  /** When the last session of a prescription was finished. */
  lastDoneAtMs: ReadonlyMap<string, number>;
  /** Prescription and slot, separated by a space. */
  putOff: ReadonlySet<string>;
  /** Patient and day, separated by a space: skipped because of pain or illness, which applies to the whole day. */
  unwellDays: ReadonlySet<string>;
  /** What happened to patients' own reminders: prescription and slot, separated by a space. */
  ownReminders: ReadonlyMap<string, { isOpen: boolean; sentAtMs: number | null }>;
  /** A person's current link, by patient or caregiver. */
  links: ReadonlyMap<string, string>;
};

export type AskedFor = {
  contactIds: readonly string[];
  patientIds: readonly string[];
  prescriptionIds: readonly string[];
};

const noFacts: SendingFacts = {
  contacts: new Map(),
  patients: new Map(),
  rules: new Map(),
  breaks: new Map(),
  programs: new Map(),
  notPlayed: new Map(),
  consents: new Set(),
  caregivers: new Set(),
  heldPatients: new Set(),
  heard: new Map(),
  lastDoneAtMs: new Map(),
  putOff: new Set(),
  unwellDays: new Set(),
  ownReminders: new Map(),
  links: new Map(),
};

/** @param sinceMs how far back heard and skipped sessions are read */
export async function sendingFacts(
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
      ...(await notPlayedOf(db, patientIds)),
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

function byPatient<Row extends { patientId: string }>(rows: readonly Row[]): Map<string, Row[]> {
  const found = new Map<string, Row[]>();
  for (const row of rows) found.set(row.patientId, [...(found.get(row.patientId) ?? []), row]);
  return found;
}

async function contactsOf(db: Db, ids: readonly string[]): Promise<SendingContact[]> {
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

function peopleOf(db: Db, patientIds: readonly string[]) {
  return db
    .selectFrom('patient')
    .innerJoin('clinic', 'clinic.id', 'patient.clinicId')
    .select(['patient.id', 'patient.spokenName', 'patient.name', 'patient.zone'])
    .select(['clinic.name as clinicName', 'clinic.phone', 'clinic.emergencyNumber'])
    .where('patient.id', 'in', patientIds)
    .execute();
}

async function programsOf(
  db: Db,
  ids: readonly string[],
  sinceMs: number,
): Promise<SendingFacts['programs']> {
  if (ids.length === 0) return noFacts.programs;
  const rows = await db
    .selectFrom('prescription')
    .innerJoin('prescriptionVersion as version', 'version.prescriptionId', 'prescription.id')
    .leftJoin('prescriptionVersion as next', (join) =>
      join
        .onRef('next.prescriptionId', '=', 'version.prescriptionId')
        .onRef('next.number', '=', sql`version."number" + 1`),
    )
    .select(programColumns)
    .select(versionColumns)
    .where('prescription.id', 'in', ids)
    .where(({ eb, or }) => or([eb('next.number', 'is', null), eb('next.signedAtMs', '>=', sinceMs)]))
    .orderBy('version.number', 'desc')
    .execute();
  const programs = new Map<string, ProgramThen & { isGone: boolean }>();
  for (const row of rows) {
    // The newest one comes first: if it is missing, none may be taken for it.
    const known = programs.get(row.id) ?? {
      state: stateOf(row),
      versions: [],
      isGone: row.number !== row.newestVersion,
    };
    const { content } = signedContent(row, known.isGone ? { ...row, number: null } : row);
    known.versions.push({ content, signedAtMs: row.signedAtMs });
    programs.set(row.id, known);
  }
  return programs;
}

async function consentsOf(db: Db, patientIds: readonly string[]): Promise<ReadonlySet<string>> {
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

/** The key of a consent in {@link SendingFacts}. */
export function consentKey(patientId: string, kind: ConsentKind, caregiverId: string | null): string {
  return `${patientId} ${kind} ${caregiverId ?? ''}`;
}

async function caregiversOf(db: Db, patientIds: readonly string[]): Promise<ReadonlySet<string>> {
  const rows = await db
    .selectFrom('caregiver')
    .select('id')
    .where('patientId', 'in', patientIds)
    .where('endedAtMs', 'is', null)
    .execute();
  return new Set(rows.map(({ id }) => id));
}

async function heldOf(db: Db, patientIds: readonly string[]): Promise<ReadonlySet<string>> {
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

async function heardOf(
  db: Db,
  patientIds: readonly string[],
  sinceMs: number,
): Promise<Pick<SendingFacts, 'heard' | 'lastDoneAtMs'>> {
  const rows = await db
    .selectFrom('listeningStep')
    .select(['prescriptionId', 'slot'])
    .select(({ eb, fn }) =>
      fn.max(eb.case().when('step', '=', 'finished').then(eb.ref('atMs')).end()).as('finishedAtMs'),
    )
    .where('patientId', 'in', patientIds)
    .where('atMs', '>=', sinceMs)
    .groupBy(['prescriptionId', 'slot'])
    .execute();
  const heard = new Map<string, Map<string, 'done' | 'begun'>>();
  const lastDoneAtMs = new Map<string, number>();
  for (const { prescriptionId, slot, finishedAtMs } of rows) {
    const slots = heard.get(prescriptionId) ?? new Map<string, 'done' | 'begun'>();
    heard.set(prescriptionId, slots.set(slot, finishedAtMs === null ? 'begun' : 'done'));
    const lastMs = Math.max(lastDoneAtMs.get(prescriptionId) ?? 0, Number(finishedAtMs ?? 0));
    lastDoneAtMs.set(prescriptionId, lastMs);
  }
  return { heard, lastDoneAtMs };
}

async function putOffOf(
  db: Db,
  patientIds: readonly string[],
  sinceMs: number,
): Promise<Pick<SendingFacts, 'putOff' | 'unwellDays'>> {
  const rows = await db
    .selectFrom('notToday')
    .select(['patientId', 'prescriptionId', 'slot', 'reason'])
    .where('patientId', 'in', patientIds)
    .where('atMs', '>=', sinceMs)
    .execute();
  const unwell = rows.filter(({ reason }) => isUnwell(reason));
  return {
    putOff: new Set(rows.map(({ prescriptionId, slot }) => `${prescriptionId} ${slot}`)),
    unwellDays: new Set(unwell.map(({ patientId, slot }) => `${patientId} ${slot.slice(0, 10)}`)),
  };
}

async function ownRemindersOf(
  db: Db,
  patientIds: readonly string[],
  sinceMs: number,
): Promise<SendingFacts['ownReminders']> {
  const rows = await db
    .selectFrom('delivery')
    .select(['prescriptionId', 'slot', 'state', 'settledAtMs'])
    .where('patientId', 'in', patientIds)
    .where('forAtMs', '>=', sinceMs)
    .where('kind', '=', 'due')
    .where('caregiverId', 'is', null)
    .execute();
  const own = new Map<string, { isOpen: boolean; sentAtMs: number | null }>();
  for (const { prescriptionId, slot, state, settledAtMs } of rows) {
    const key = `${prescriptionId} ${slot}`;
    const before = own.get(key) ?? { isOpen: false, sentAtMs: null };
    // A recipient with two contacts learns of it through the first.
    const sentAtMs =
      state === 'sent' ? Math.min(before.sentAtMs ?? Infinity, settledAtMs ?? Infinity) : before.sentAtMs;
    own.set(key, { isOpen: before.isOpen || state === 'waiting' || state === 'sending', sentAtMs });
  }
  return own;
}

async function linksOf(
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
