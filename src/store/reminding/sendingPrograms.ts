import { sql } from 'kysely';
import { isUnwell } from '../../listening/report.js';
import {
  programColumns,
  readProgramState,
  verifySignedContent,
  versionColumns,
} from '../attention/signed.js';
import type { Db } from '../engine/db.js';
import { noFacts, type ProgramThen, type SendingFacts } from './sendingFacts.js';

export async function programsOf(
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
      state: readProgramState(row),
      versions: [],
      isGone: row.number !== row.newestVersion,
    };
    const { content } = verifySignedContent(row, known.isGone ? { ...row, number: null } : row);
    known.versions.push({ content, signedAtMs: row.signedAtMs });
    programs.set(row.id, known);
  }
  return programs;
}

export async function heardOf(
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

export async function putOffOf(
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

export async function ownRemindersOf(
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
