import { type ColumnDataType, type Kysely, sql } from 'kysely';
import { sumUpAll } from './sumUpAll.js';

type Column = { table: string; column: string; type: ColumnDataType; filledWith?: number };

/**
 * What the steps 0002 to 0005 gained after databases had taken an earlier form of them. A screening of which nobody
 * wrote down whether it stops everything counts as one that does, until somebody screens again.
 */
const gained: readonly Column[] = [
  { table: 'prescription', column: 'workId', type: 'text' },
  { table: 'prescriptionVersion', column: 'screeningId', type: 'text' },
  { table: 'screening', column: 'stops', type: 'integer', filledWith: 1 },
  { table: 'listeningLink', column: 'wrongPins', type: 'integer', filledWith: 0 },
  { table: 'listeningToken', column: 'contactId', type: 'text' },
  { table: 'delivery', column: 'subject', type: 'text' },
  { table: 'listeningStep', column: 'choice', type: 'text' },
  { table: 'checkIn', column: 'choice', type: 'text' },
];

/**
 * Gives databases that took an earlier form of a step what they lack, recognized by what is missing; on all others
 * nothing happens.
 */
export async function mendEditedSteps(db: Kysely<unknown>): Promise<void> {
  const tables = new Map(
    (await db.introspection.getTables()).map(({ name, columns }) => [
      name,
      new Set(columns.map((column) => column.name)),
    ]),
  );
  const lacks = ({ table, column }: Pick<Column, 'table' | 'column'>) =>
    tables.get(table)?.has(column) === false;
  for (const { table, column, type, filledWith } of gained) {
    if (!lacks({ table, column })) continue;
    await db.schema
      .alterTable(table)
      .addColumn(column, type, (made) =>
        filledWith === undefined ? made : made.notNull().defaultTo(filledWith),
      )
      .execute();
  }
  if (lacks({ table: 'listened', column: 'choice' })) await sumUpAnew(db);
  if (!tables.has('adviceWatch')) await watchAdvice(db);
  await mendIndexes(db);
}

/** Sums are made of what is kept, so they can be made again; an earlier table told two people's listenings apart badly. */
async function sumUpAnew(db: Kysely<unknown>): Promise<void> {
  const { schema } = db;
  await schema.dropTable('listened').execute();
  await schema
    .createTable('listened')
    .addColumn('listeningId', 'text', (column) => column.notNull())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('prescriptionId', 'text', (column) => column.notNull().references('prescription.id'))
    .addColumn('versionNumber', 'integer', (column) => column.notNull())
    .addColumn('sessionNumber', 'integer', (column) => column.notNull())
    .addColumn('slot', 'text', (column) => column.notNull())
    .addColumn('caregiverId', 'text', (column) => column.references('caregiver.id'))
    .addColumn('startedAtMs', 'bigint', (column) => column.notNull())
    .addColumn('lastAtMs', 'bigint', (column) => column.notNull())
    .addColumn('heardMs', 'bigint', (column) => column.notNull())
    .addColumn('reachedMs', 'bigint', (column) => column.notNull())
    .addColumn('finishedAtMs', 'bigint')
    .addColumn('pauseCount', 'integer', (column) => column.notNull())
    .addColumn('pausedMs', 'bigint', (column) => column.notNull())
    .addColumn('stoppedAtMs', 'bigint')
    .addColumn('choice', 'text')
    .addPrimaryKeyConstraint('listenedKey', ['patientId', 'listeningId'])
    .execute();
  await schema
    .createIndex('listenedByPatient')
    .on('listened')
    .columns(['patientId', 'startedAtMs'])
    .execute();
  await sumUpAll(db);
}

async function watchAdvice(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('adviceWatch')
    .addColumn('patientId', 'text', (column) => column.primaryKey().references('patient.id'))
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('lookAtMs', 'bigint', (column) => column.notNull())
    .addColumn('waits', 'text')
    .addColumn('sinceMs', 'bigint')
    .execute();
  await sql`insert into "adviceWatch" ("patientId", "clinicId", "lookAtMs")
    select "id", "clinicId", 0 from "patient"`.execute(db);
}

/** Indexes cost little to make again, and nothing tells reliably what an earlier one was made of. */
async function mendIndexes({ schema }: Kysely<unknown>): Promise<void> {
  for (const name of ['linkOfPatient', 'linkOfCaregiver', 'watchToMake', 'deliveryToDo'])
    await schema.dropIndex(name).ifExists().execute();
  const isOpen = sql<boolean>`"state" in ('waiting', 'sending')`;
  const indexes = [
    schema.createIndex('prescriptionOfWork').unique().on('prescription').column('workId'),
    ...['patientId', 'caregiverPersonId'].map((column) =>
      schema
        .createIndex(`oneLinkFor${column}`)
        .unique()
        .on('listeningLink')
        .column(column)
        .where(sql.ref('revokedAtMs'), 'is', null),
    ),
    ...['listeningStep', 'feedDelivery'].map((table) =>
      schema.createIndex(`${table}OfPrescription`).on(table).columns(['prescriptionId', 'slot']),
    ),
    schema.createIndex('tokenOfContact').on('listeningToken').column('contactId'),
    schema
      .createIndex('watchToMake')
      .on('reminderWatch')
      .column('nextDueAtMs')
      .where(sql<boolean>`("madeForMs" is null or "madeForMs" < "nextDueAtMs")`),
    schema.createIndex('deliveryToDo').on('delivery').column('nextAtMs').where(isOpen),
    schema
      .createIndex('warningToDo')
      .on('delivery')
      .column('nextAtMs')
      .where(sql<boolean>`"kind" = 'warning' and ${isOpen}`),
    schema
      .createIndex('deliveryFailedFor')
      .on('delivery')
      .column('patientId')
      .where(sql<boolean>`"state" = 'failed' and "seenAtMs" is null`),
    schema.createIndex('stepOfListening').on('listeningStep').column('listeningId'),
    schema.createIndex('adviceToLookAt').on('adviceWatch').column('lookAtMs'),
  ];
  for (const index of indexes) await index.ifNotExists().execute();
}
