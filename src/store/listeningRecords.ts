import type { InsertQueryBuilder, InsertResult, Selectable } from 'kysely';
import type { ListeningTables } from './listeningSchema.js';
import type { Db } from './openStore.js';
import type { Database } from './schema.js';

type Row<Table extends keyof ListeningTables> = Selectable<ListeningTables[Table]>;
export type StepRow = Row<'listeningStep'>;
export type NotTodayRow = Row<'notToday'>;
export type CheckInRow = Row<'checkIn'>;
export type DeliveryRow = Row<'feedDelivery'>;

/** A warning with what a clinician did about it, null as long as nobody has. */
export type Warning = Row<'warning'> & {
  answer: { note: string; atMs: number; clinicianName: string } | null;
};

/** What a device tells twice is kept once. @returns whether it is new */
export const keepStep = (db: Db, row: StepRow) => onlyOnce(db.insertInto('listeningStep').values(row));
export const keepNotToday = (db: Db, row: NotTodayRow) => onlyOnce(db.insertInto('notToday').values(row));
export const keepCheckIn = (db: Db, row: CheckInRow) => onlyOnce(db.insertInto('checkIn').values(row));
/** The caller works out anew who needs attention. */
export const keepWarning = (db: Db, row: Row<'warning'>) => onlyOnce(db.insertInto('warning').values(row));
export const keepDelivery = (db: Db, row: DeliveryRow) => onlyOnce(db.insertInto('feedDelivery').values(row));

type ReportedTable = 'listeningStep' | 'notToday' | 'checkIn' | 'warning' | 'feedDelivery';

async function onlyOnce<Table extends ReportedTable>(
  insert: InsertQueryBuilder<Database, Table, InsertResult>,
): Promise<boolean> {
  const result = await insert.onConflict((conflict) => conflict.doNothing()).executeTakeFirst();
  return result.numInsertedOrUpdatedRows === 1n;
}

/** What was heard, put off and fetched by other players since a moment, oldest first. */
export async function heardSince(
  db: Db,
  patientId: string,
  sinceMs: number,
): Promise<{ steps: StepRow[]; notToday: NotTodayRow[]; deliveries: DeliveryRow[] }> {
  const steps = db.selectFrom('listeningStep').selectAll();
  const notToday = db.selectFrom('notToday').selectAll();
  const deliveries = db.selectFrom('feedDelivery').selectAll();
  return {
    steps: await steps
      .where('patientId', '=', patientId)
      .where('atMs', '>=', sinceMs)
      .orderBy('atMs')
      .execute(),
    notToday: await notToday
      .where('patientId', '=', patientId)
      .where('atMs', '>=', sinceMs)
      .orderBy('atMs')
      .execute(),
    deliveries: await deliveries
      .where('patientId', '=', patientId)
      .where('atMs', '>=', sinceMs)
      .orderBy('atMs')
      .execute(),
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

/** Warnings, those that nobody has answered first, then the newest. */
export async function warningsOf(db: Db, patientId: string, most: number): Promise<Warning[]> {
  const rows = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .leftJoin('clinician', 'clinician.id', 'warningAnswer.clinicianId')
    .selectAll('warning')
    .select(['warningAnswer.note', 'warningAnswer.atMs as answeredAtMs', 'clinician.name as clinicianName'])
    .where('warning.patientId', '=', patientId)
    .orderBy(({ eb }) => eb.case().when('warningAnswer.atMs', 'is', null).then(0).else(1).end())
    .orderBy('warning.atMs', 'desc')
    .orderBy('warning.id')
    .limit(most)
    .execute();
  return rows.map(({ note, answeredAtMs, clinicianName, ...warning }) => ({
    ...warning,
    answer:
      answeredAtMs === null
        ? null
        : { note: note ?? '', atMs: answeredAtMs, clinicianName: clinicianName ?? '' },
  }));
}

/** When the oldest warning came in that nobody has answered, or null. */
export async function openWarningSince(db: Db, patientId: string): Promise<number | null> {
  const found = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .select('warning.receivedAtMs')
    .where('warning.patientId', '=', patientId)
    .where('warningAnswer.warningId', 'is', null)
    .orderBy('warning.receivedAtMs')
    .limit(1)
    .executeTakeFirst();
  return found?.receivedAtMs ?? null;
}

/** @returns false when the patient has no such warning, or somebody has answered it already */
export async function answerWarning(
  db: Db,
  patientId: string,
  answer: { warningId: string; clinicianId: string; note: string; nowMs: number },
): Promise<boolean> {
  const { warningId, clinicianId, note, nowMs } = answer;
  const own = await db
    .selectFrom('warning')
    .select('id')
    .where('id', '=', warningId)
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  if (own === undefined) return false;
  const result = await db
    .insertInto('warningAnswer')
    .values({ warningId, clinicianId, note, atMs: nowMs })
    .onConflict((conflict) => conflict.column('warningId').doNothing())
    .executeTakeFirst();
  return result.numInsertedOrUpdatedRows === 1n;
}

/** Slots of a program that were listened to to the end, or fetched by another player: how far its numbers have come. */
export async function slotsBehind(db: Db, prescriptionId: string): Promise<string[]> {
  const finished = await db
    .selectFrom('listeningStep')
    .select('slot')
    .distinct()
    .where('prescriptionId', '=', prescriptionId)
    .where('step', '=', 'finished')
    .execute();
  const fetched = await db
    .selectFrom('feedDelivery')
    .select('slot')
    .distinct()
    .where('prescriptionId', '=', prescriptionId)
    .execute();
  return [...new Set([...finished, ...fetched].map(({ slot }) => slot))];
}

/** Whether a patient has ever begun a session. */
export async function hasBegun(db: Db, patientId: string): Promise<boolean> {
  const found = await db
    .selectFrom('listeningStep')
    .select('id')
    .where('patientId', '=', patientId)
    .limit(1)
    .executeTakeFirst();
  return found !== undefined;
}
