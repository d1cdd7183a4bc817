import type { Insertable, InsertQueryBuilder, InsertResult, Selectable } from 'kysely';
import { sumUp } from '../../listening/listened.js';
import { isUnwell } from '../../listening/report.js';
import { lockPatient } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import type { ListeningTables } from '../schema/listeningSchema.js';
import type { Database } from '../schema/schema.js';

/** Six weeks of three sessions a day, with their steps, are half of it. */
const mostSteps = 10_000;
const mostOthers = 500;
const answeredAtOnce = 100;

type Row<Table extends keyof ListeningTables> = Selectable<ListeningTables[Table]>;
export type StepRow = Row<'listeningStep'>;
export type NotTodayRow = Row<'notToday'>;
export type CheckInRow = Row<'checkIn'>;
export type DeliveryRow = Row<'feedDelivery'>;
export type NewStep = Insertable<ListeningTables['listeningStep']>;
export type NewCheckIn = Insertable<ListeningTables['checkIn']>;

/** The result of storing something: `foreign` if its id already belongs to someone else. */
export type Kept = 'new' | 'known' | 'foreign';

/**
 * Stores steps, each once, in order, and recomputes the summaries of their playbacks. Runs in a transaction.
 *
 * @returns the result for each
 */
export async function saveSteps(db: Db, rows: readonly NewStep[]): Promise<Kept[]> {
  const patientIds = [...new Set(rows.map(({ patientId }) => patientId))].sort();
  for (const patientId of patientIds) await lockPatient(db, patientId);
  const results: Kept[] = [];
  const fresh = new Map<string, Set<string>>();
  for (const row of rows) {
    const { patientId, listeningId } = row;
    const result = await onlyOnce(db, 'listeningStep', row, db.insertInto('listeningStep').values(row));
    if (result === 'new') fresh.set(patientId, (fresh.get(patientId) ?? new Set()).add(listeningId));
    results.push(result);
  }
  for (const [patientId, listeningIds] of fresh) await recomputeListenings(db, patientId, [...listeningIds]);
  return results;
}

/**
 * Recomputes the summaries of some of a patient's playbacks from all of their steps. Runs in the transaction that
 * stores the steps and has locked the patient: otherwise two devices could each miss what the other reports.
 */
async function recomputeListenings(
  db: Db,
  patientId: string,
  listeningIds: readonly string[],
): Promise<void> {
  if (listeningIds.length === 0) return;
  const steps = await db
    .selectFrom('listeningStep')
    .select(['listeningId', 'prescriptionId', 'versionNumber', 'sessionNumber', 'slot', 'caregiverId'])
    .select(['step', 'positionMs', 'atMs', 'choice'])
    .where('listeningId', 'in', listeningIds)
    .where('patientId', '=', patientId)
    .execute();
  for (const listened of sumUp(steps)) {
    await db
      .insertInto('listened')
      .values({ ...listened, patientId })
      .onConflict((conflict) => conflict.columns(['patientId', 'listeningId']).doUpdateSet(listened))
      .execute();
  }
}

/** The time of the newest step of each of some playbacks, as reported by this link's devices. */
export async function newestStepsAtMs(
  db: Db,
  linkId: string,
  listeningIds: readonly string[],
): Promise<Map<string, number>> {
  if (listeningIds.length === 0) return new Map();
  const rows = await db
    .selectFrom('listeningStep')
    .select(({ fn }) => ['listeningId', fn.max('atMs').as('atMs')])
    .where('listeningId', 'in', listeningIds)
    .where('linkId', '=', linkId)
    .groupBy('listeningId')
    .execute();
  return new Map(rows.map(({ listeningId, atMs }) => [listeningId, Number(atMs)]));
}

/** What a device reports twice is stored once. */
export const saveNotToday = (db: Db, row: NotTodayRow) =>
  onlyOnce(db, 'notToday', row, db.insertInto('notToday').values(row));
export const saveCheckIn = (db: Db, row: NewCheckIn) =>
  onlyOnce(db, 'checkIn', row, db.insertInto('checkIn').values(row));
/** The caller recomputes who needs attention. */
export const saveWarning = (db: Db, row: Row<'warning'>) =>
  onlyOnce(db, 'warning', row, db.insertInto('warning').values(row));
export const saveFeedDelivery = (db: Db, row: DeliveryRow) =>
  onlyOnce(db, 'feedDelivery', row, db.insertInto('feedDelivery').values(row));

type ReportedTable = 'listeningStep' | 'notToday' | 'checkIn' | 'warning' | 'feedDelivery';

async function onlyOnce<Table extends ReportedTable>(
  db: Db,
  table: Table,
  { id, patientId }: { id: string; patientId: string },
  insert: InsertQueryBuilder<Database, Table, InsertResult>,
): Promise<Kept> {
  const result = await insert.onConflict((conflict) => conflict.doNothing()).executeTakeFirst();
  if (result.numInsertedOrUpdatedRows === 1n) return 'new';
  const existing = await db
    .selectFrom(table as ReportedTable)
    .select('patientId')
    .where('id', '=', id)
    .executeTakeFirst();
  return existing?.patientId === patientId ? 'known' : 'foreign';
}

/**
 * What was heard, skipped and downloaded by other players since a given time, oldest first; if there is very much, only
 * the newest, which is more than anyone listens to.
 */
export async function listHeardSince(
  db: Db,
  patientId: string,
  sinceMs: number,
): Promise<{ steps: StepRow[]; notToday: NotTodayRow[]; deliveries: DeliveryRow[] }> {
  const steps = db.selectFrom('listeningStep').selectAll();
  const notToday = db.selectFrom('notToday').selectAll();
  const deliveries = db.selectFrom('feedDelivery').selectAll();
  const newest = {
    steps: await steps
      .where('patientId', '=', patientId)
      .where('atMs', '>=', sinceMs)
      .orderBy('atMs', 'desc')
      .limit(mostSteps)
      .execute(),
    notToday: await notToday
      .where('patientId', '=', patientId)
      .where('atMs', '>=', sinceMs)
      .orderBy('atMs', 'desc')
      .limit(mostOthers)
      .execute(),
    deliveries: await deliveries
      .where('patientId', '=', patientId)
      .where('atMs', '>=', sinceMs)
      .orderBy('atMs', 'desc')
      .limit(mostOthers)
      .execute(),
  };
  return {
    steps: newest.steps.reverse(),
    notToday: newest.notToday.reverse(),
    deliveries: newest.deliveries.reverse(),
  };
}

/** Check-ins, newest first. */
export async function checkInsOf(db: Db, patientId: string, most: number): Promise<CheckInRow[]> {
  return db
    .selectFrom('checkIn')
    .selectAll()
    .where('patientId', '=', patientId)
    .orderBy('atMs', 'desc')
    .orderBy('id')
    .limit(most)
    .execute();
}

/** When a warning of a patient was last answered; 0 if never. Until then nothing was played. */
export async function warningsAnsweredAt(db: Db, patientId: string): Promise<number> {
  const found = await db
    .selectFrom('warningAnswer')
    .innerJoin('warning', 'warning.id', 'warningAnswer.warningId')
    .select('warningAnswer.atMs')
    .where('warning.patientId', '=', patientId)
    .orderBy('warningAnswer.atMs', 'desc')
    .limit(1)
    .executeTakeFirst();
  return found?.atMs ?? 0;
}

/**
 * Answers every open warning of a patient received before a given time: those the clinician has seen. Runs in a
 * transaction that has locked the patient.
 *
 * @returns the ids of those answered; empty if someone else was faster
 */
export async function answerWarnings(
  db: Db,
  patientId: string,
  answer: { seenUpToMs: number; clinicianId: string; note: string; nowMs: number },
): Promise<string[]> {
  const { seenUpToMs, clinicianId, note, nowMs } = answer;
  const open = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .select('warning.id')
    .where('warning.patientId', '=', patientId)
    .where('warning.receivedAtMs', '<=', seenUpToMs)
    .where('warningAnswer.warningId', 'is', null)
    .orderBy('warning.id')
    .execute();
  const ids = open.map(({ id }) => id);
  for (let start = 0; start < ids.length; start += answeredAtOnce) {
    const rows = ids
      .slice(start, start + answeredAtOnce)
      .map((warningId) => ({ warningId, clinicianId, note, atMs: nowMs }));
    await db.insertInto('warningAnswer').values(rows).execute();
  }
  return ids;
}

/** How many sessions of a program were heard to the end, which determines its session numbers. */
export async function countFinished(db: Db, prescriptionId: string): Promise<number> {
  const counted = await db
    .selectFrom('listeningStep')
    .select(({ fn }) => fn.count<number>('slot').distinct().as('slots'))
    .where('prescriptionId', '=', prescriptionId)
    .where('step', '=', 'finished')
    .executeTakeFirst();
  return Number(counted?.slots ?? 0);
}

/** Whether a clinician has recorded what was done about a warning. */
export async function isWarningAnswered(db: Db, warningId: string): Promise<boolean> {
  const found = await db
    .selectFrom('warningAnswer')
    .select('warningId')
    .where('warningId', '=', warningId)
    .executeTakeFirst();
  return found !== undefined;
}

/** Slots since a given time that were started, or skipped for a reason other than pain or illness. */
export async function answeredSlots(db: Db, patientId: string, sinceMs: number): Promise<Set<string>> {
  const startedSlots = await db
    .selectFrom('listeningStep')
    .select('slot')
    .distinct()
    .where('patientId', '=', patientId)
    .where('atMs', '>=', sinceMs)
    .execute();
  const putOff = await db
    .selectFrom('notToday')
    .select(['slot', 'reason'])
    .where('patientId', '=', patientId)
    .where('atMs', '>=', sinceMs)
    .execute();
  return new Set(
    [...startedSlots, ...putOff.filter(({ reason }) => !isUnwell(reason))].map(({ slot }) => slot),
  );
}

/** The signs of each stored warning of a playback, as JSON lists. */
export async function listWarnedSigns(db: Db, patientId: string, listeningId: string): Promise<string[]> {
  const found = await db
    .selectFrom('warning')
    .select('signs')
    .where('patientId', '=', patientId)
    .where('listeningId', '=', listeningId)
    .execute();
  return found.map(({ signs }) => signs);
}

/**
 * Whether a patient has ever started a session.
 *
 * @param onlyBy counts only what this caregiver started for them; null for all
 */
export async function hasBegun(db: Db, patientId: string, onlyBy: string | null): Promise<boolean> {
  let query = db.selectFrom('listeningStep').select('id').where('patientId', '=', patientId);
  if (onlyBy !== null) query = query.where('caregiverId', '=', onlyBy);
  return (await query.limit(1).executeTakeFirst()) !== undefined;
}
