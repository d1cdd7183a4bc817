import { type Kysely, sql } from 'kysely';
import { guardAppendOnly } from './appendOnly.js';
import type { DatabaseKind } from './databaseKind.js';

/** Tables whose rows are never changed and name their patient. */
const ofPatient = [
  'screening',
  'consent',
  'listeningStep',
  'notToday',
  'checkIn',
  'warning',
  'feedDelivery',
  'measureTaken',
  'adviceAnswer',
  'progressNote',
] as const;

/** Those that hang on another one that does: through which column, on which table. */
const ofOthers = {
  prescriptionVersion: ['prescriptionId', 'prescription'],
  prescriptionState: ['prescriptionId', 'prescription'],
  warningAnswer: ['warningId', 'warning'],
  measureWithdrawn: ['measureTakenId', 'measureTaken'],
} as const;

/**
 * A patient's record can be erased. What was written once stays unchangeable, but its rows can be deleted as soon as it
 * is written down, for ever, that the record of this patient is erased.
 */
export async function erasure(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  await db.schema
    .createTable('erasure')
    // No reference: what it names is gone.
    .addColumn('patientId', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('why', 'text', (column) => column.notNull())
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await db.schema.createIndex('erasureOfClinic').on('erasure').columns(['clinicId', 'atMs']).execute();
  await guardAppendOnly(db, kind, 'erasure');
  if (kind === 'postgres') await inPostgres(db);
  else await inSqlite(db);
}

/** Whether the patient of a row stands erased; `row` is what the row is called there. */
function isErased(table: string, row: string): string {
  const through = table in ofOthers ? ofOthers[table as keyof typeof ofOthers] : null;
  if (through === null) {
    return `exists (select 1 from "erasure" where "erasure"."patientId" = ${row}."patientId")`;
  }
  const [column, parent] = through;
  return `exists (select 1 from "${parent}" join "erasure" on "erasure"."patientId" = "${parent}"."patientId"
    where "${parent}"."id" = ${row}."${column}")`;
}

const guarded = [...ofPatient, ...Object.keys(ofOthers)];

async function inSqlite(db: Kysely<unknown>): Promise<void> {
  for (const table of guarded) {
    await sql`drop trigger ${sql.ref(`${table}Neverdelete`)}`.execute(db);
    await sql`create trigger ${sql.ref(`${table}Neverdelete`)} before delete on ${sql.ref(table)}
      when not ${sql.raw(isErased(table, 'old'))}
      begin select raise(abort, 'rows of this table are never changed'); end`.execute(db);
  }
  await trailWithoutPatients(db);
}

/** SQLite cannot take a reference away: the trail, which stays, is kept in a table that has none to patients. */
async function trailWithoutPatients(db: Kysely<unknown>): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('trail')
    .addColumn('sequence', 'integer', (column) => column.primaryKey().autoIncrement())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text')
    .addColumn('clinicianId', 'text', (column) => column.references('clinician.id'))
    .addColumn('action', 'text', (column) => column.notNull())
    .addColumn('subject', 'text', (column) => column.notNull())
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .addColumn('accessKeyId', 'text')
    .execute();
  const columns = [
    'sequence',
    'clinicId',
    'patientId',
    'clinicianId',
    'action',
    'subject',
    'atMs',
    'accessKeyId',
  ];
  const names = sql.join(columns.map((column) => sql.ref(column)));
  await sql`insert into "trail" (${names}) select ${names} from "auditEntry" order by "sequence"`.execute(db);
  await schema.dropTable('auditEntry').execute();
  await schema.alterTable('trail').renameTo('auditEntry').execute();
  await schema.createIndex('auditOfClinic').on('auditEntry').columns(['clinicId', 'sequence']).execute();
  await schema.createIndex('auditOfPatient').on('auditEntry').columns(['patientId', 'sequence']).execute();
  await guardAppendOnly(db, 'sqlite', 'auditEntry');
}

async function inPostgres(db: Kysely<unknown>): Promise<void> {
  // A condition of a trigger cannot look into another table there: the function does, as its argument says.
  await sql`create function "refuseUnlessErased"() returns trigger language plpgsql as $$
    declare "isErased" boolean;
    begin
      execute 'select ' || tg_argv[0] into "isErased" using old;
      if "isErased" then return old; end if;
      raise exception 'rows of % are never changed', tg_table_name;
    end $$`.execute(db);
  for (const table of guarded) {
    const name = sql.ref(table);
    await sql`drop trigger "neverChanged" on ${name}`.execute(db);
    await sql`create trigger "neverChanged" before update on ${name}
      for each row execute function "refuseChange"()`.execute(db);
    await sql`create trigger "neverDeleted" before delete on ${name}
      for each row execute function "refuseUnlessErased"(${sql.lit(isErased(table, '($1)'))})`.execute(db);
  }
  await sql`alter table "auditEntry" drop constraint "auditEntry_patientId_fkey"`.execute(db);
}
