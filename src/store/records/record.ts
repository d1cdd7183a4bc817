import { type Selectable, sql } from 'kysely';
import type { Db, Store } from '../engine/openStore.js';
import { isOfPatient, type PatientTable } from '../people/patientTables.js';
import type { Database } from '../schema/schema.js';

const rowsAtOnce = 500;

/** The order of a table's rows; the columns together identify one row. */
const orderOf = {
  draft: ['clinicianId', 'prescriptionId'],
  reminderRules: ['patientId'],
  careBreak: ['createdAtMs', 'id'],
  adviceAnswer: ['atMs', 'id'],
  progressNote: ['atMs', 'id'],
  measureTaken: ['atMs', 'id'],
  measureWithdrawn: ['atMs', 'measureTakenId'],
  ownMeasure: ['createdAtMs', 'id'],
  listened: ['startedAtMs', 'listeningId'],
  listeningStep: ['atMs', 'id'],
  notToday: ['atMs', 'id'],
  checkIn: ['atMs', 'id'],
  noteRead: ['atMs', 'checkInId'],
  warning: ['atMs', 'id'],
  warningAnswer: ['atMs', 'warningId'],
  feedDelivery: ['atMs', 'id'],
  prescription: ['createdAtMs', 'id'],
  prescriptionVersion: ['prescriptionId', 'number'],
  prescriptionState: ['atMs', 'id'],
  notPlayable: ['fromMs', 'prescriptionId'],
  screening: ['number', 'id'],
  consent: ['number', 'id'],
  caregiver: ['createdAtMs', 'id'],
  contact: ['createdAtMs', 'id'],
  listeningLink: ['createdAtMs', 'id'],
  delivery: ['forAtMs', 'id'],
  patient: ['id'],
} as const satisfies Partial<Record<PatientTable, readonly string[]>>;
export type RecordTable = keyof typeof orderOf;
/** The tables that a record is read from. */
export const recordTables = Object.keys(orderOf) as RecordTable[];

/**
 * Reads the rows of one table that concern a patient, some hundreds at a time, so that memory use does not grow with
 * the record. Rows written in the meantime are included if they sort after those already read.
 */
export async function* recordRows<Table extends RecordTable>(
  store: Store,
  table: Table,
  patientId: string,
): AsyncGenerator<Selectable<Database[Table]>> {
  const columns: readonly string[] = orderOf[table];
  const order = sql.join(columns.map((column) => sql.ref(column)));
  let last: Record<string, unknown> | undefined;
  do {
    const after = last;
    const isBehind =
      after === undefined
        ? sql<boolean>`true`
        : sql<boolean>`(${order}) > (${sql.join(columns.map((column) => sql.val(after[column])))})`;
    const { rows } = await store.read((db) =>
      sql<Record<string, unknown> & Selectable<Database[Table]>>`select * from ${sql.table(table)}
        where ${isOfPatient(table, patientId)} and ${isBehind} order by ${order} limit ${rowsAtOnce}`.execute(
        db,
      ),
    );
    yield* rows;
    last = rows.length < rowsAtOnce ? undefined : rows.at(-1);
  } while (last !== undefined);
}

/** Reads all rows at once, for tables in which no record has many. */
export async function allRecordRows<Table extends RecordTable>(
  store: Store,
  table: Table,
  patientId: string,
): Promise<Selectable<Database[Table]>[]> {
  const all: Selectable<Database[Table]>[] = [];
  for await (const row of recordRows(store, table, patientId)) all.push(row);
  return all;
}

/** The tables that are counted in a record. */
export const countedTables = [
  'prescriptionVersion',
  'listened',
  'checkIn',
  'warning',
  'measureTaken',
  'adviceAnswer',
  'progressNote',
  'screening',
  'consent',
  'careBreak',
  'caregiver',
] as const satisfies readonly RecordTable[];
export type CountedTable = (typeof countedTables)[number];

/** How many rows these tables have about a patient. */
export async function countRecordRows(db: Db, patientId: string): Promise<Record<CountedTable, number>> {
  const counts: [string, number][] = [];
  for (const table of countedTables) {
    const { rows } = await sql<{ count: number }>`select count(*) as count from ${sql.table(table)}
      where ${isOfPatient(table, patientId)}`.execute(db);
    counts.push([table, Number(rows[0]?.count ?? 0)]);
  }
  // Every table has its count.
  return Object.fromEntries(counts) as Record<CountedTable, number>;
}
