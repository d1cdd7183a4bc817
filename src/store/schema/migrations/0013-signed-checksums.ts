import { type Kysely, type RawBuilder, sql } from 'kysely';
import type { DatabaseKind } from './databaseKind.js';
import {
  type ProgramRow,
  programChecksum,
  type ScreeningRow,
  screeningChecksum,
  type VersionRow,
  versionChecksum,
} from './signedChecksums.js';

const tables = ['prescription', 'prescriptionVersion', 'screening'];
const rowsAtOnce = 200;

/**
 * What was signed or taken down carries a checksum from now on. Rows that are there already get theirs here, as they
 * are: whether one was damaged before, nothing tells. An earlier version that still runs on a PostgreSQL server has its
 * rows refused, rather than leave some that read as damaged.
 */
export async function signedChecksums(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  for (const table of tables) {
    await db.schema
      .alterTable(table)
      .addColumn('checksum', 'text', (column) => column.notNull().defaultTo(''))
      .execute();
  }
  await fill<ProgramRow>(db, 'prescription', (after) => selectPrograms(after), programChecksum, ['id']);
  await changing(db, kind, 'prescriptionVersion', () =>
    fill<VersionRow>(db, 'prescriptionVersion', (after) => selectVersions(after), versionChecksum, [
      'prescriptionId',
      'number',
    ]),
  );
  await changing(db, kind, 'screening', () =>
    fill<ScreeningRow>(db, 'screening', (after) => selectScreenings(after), screeningChecksum, ['id']),
  );
  if (kind !== 'postgres') return;
  for (const table of tables)
    await db.schema
      .alterTable(table)
      .alterColumn('checksum', (column) => column.dropDefault())
      .execute();
}

function selectPrograms(after: ProgramRow | undefined): RawBuilder<ProgramRow> {
  return sql`select "id", "patientId", "title", "state", "newestVersion", "createdAtMs" from "prescription"
    where "id" > ${after?.id ?? ''} order by "id" limit ${rowsAtOnce}`;
}

function selectVersions(after: VersionRow | undefined): RawBuilder<VersionRow> {
  const [id, number] = [after?.prescriptionId ?? '', after?.number ?? 0];
  return sql`select "version"."prescriptionId", "prescription"."patientId", "version"."number", "version"."content",
      "version"."screeningId", "version"."reason", "version"."signedBy", "version"."signedAtMs"
    from "prescriptionVersion" as "version"
    inner join "prescription" on "prescription"."id" = "version"."prescriptionId"
    where "version"."prescriptionId" > ${id}
      or ("version"."prescriptionId" = ${id} and "version"."number" > ${number})
    order by "version"."prescriptionId", "version"."number" limit ${rowsAtOnce}`;
}

function selectScreenings(after: ScreeningRow | undefined): RawBuilder<ScreeningRow> {
  return sql`select "id", "patientId", "number", "answers", "stops", "clinicianId", "atMs" from "screening"
    where "id" > ${after?.id ?? ''} order by "id" limit ${rowsAtOnce}`;
}

/** Some rows at a time: a clinic of many years does not fit into memory at once. */
async function fill<Row extends object>(
  db: Kysely<unknown>,
  table: string,
  select: (after: Row | undefined) => RawBuilder<Row>,
  checksum: (row: Row) => string,
  key: readonly (keyof Row & string)[],
): Promise<void> {
  let after: Row | undefined;
  do {
    const { rows } = await select(after).execute(db);
    for (const row of rows) {
      const isRow = key.map((column) => sql`${sql.ref(column)} = ${row[column]}`);
      await sql`update ${sql.table(table)} set "checksum" = ${checksum(row)}
        where ${sql.join(isRow, sql` and `)}`.execute(db);
    }
    after = rows.length < rowsAtOnce ? undefined : rows.at(-1);
  } while (after !== undefined);
}

/** Does what the database refuses for a table whose rows are never changed, and has it refuse again afterwards. */
async function changing(
  db: Kysely<unknown>,
  kind: DatabaseKind,
  table: string,
  work: () => Promise<void>,
): Promise<void> {
  const name = sql.ref(table);
  const trigger = sql.ref(kind === 'postgres' ? 'neverChanged' : `${table}Neverupdate`);
  if (kind === 'postgres') {
    await sql`alter table ${name} disable trigger ${trigger}`.execute(db);
    await work();
    await sql`alter table ${name} enable trigger ${trigger}`.execute(db);
    return;
  }
  await sql`drop trigger ${trigger}`.execute(db);
  await work();
  await sql`create trigger ${trigger} before update on ${name}
    begin select raise(abort, 'rows of this table are never changed'); end`.execute(db);
}
