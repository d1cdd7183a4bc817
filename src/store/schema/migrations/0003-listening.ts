import { type Kysely, sql } from 'kysely';
import { guardAppendOnly } from './appendOnly.js';
import type { DatabaseKind } from './databaseKind.js';

/** Links for listeners, what they listened to and reported, warning signs and what a clinician did about them. */
export async function listening(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
  for (const column of ['phone', 'emergencyNumber']) {
    await schema
      .alterTable('clinic')
      .addColumn(column, 'text', (definition) => definition.notNull().defaultTo(''))
      .execute();
  }
  await schema
    .alterTable('caregiver')
    .addColumn('personId', 'text', (column) => column.notNull().defaultTo(''))
    .execute();
  await sql`update "caregiver" set "personId" = "id"`.execute(db);
  await schema.createIndex('caregiverOfPerson').on('caregiver').column('personId').execute();
  await schema
    .createTable('listeningLink')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text', (column) => column.references('patient.id'))
    .addColumn('caregiverPersonId', 'text')
    .addColumn('codeHash', 'text', (column) => column.notNull().unique())
    .addColumn('pinHash', 'text')
    .addColumn('wrongPins', 'integer', (column) => column.notNull().defaultTo(0))
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('expiresAtMs', 'bigint', (column) => column.notNull())
    .addColumn('lastSeenAtMs', 'bigint')
    .addColumn('revokedAtMs', 'bigint')
    .execute();
  // Nobody has two links that work, however many clinicians give one at the same moment.
  for (const column of ['patientId', 'caregiverPersonId']) {
    await schema
      .createIndex(`oneLinkFor${column}`)
      .unique()
      .on('listeningLink')
      .column(column)
      .where(sql.ref('revokedAtMs'), 'is', null)
      .execute();
  }
  await schema
    .createTable('listeningToken')
    .addColumn('tokenHash', 'text', (column) => column.primaryKey())
    .addColumn('linkId', 'text', (column) => column.notNull().references('listeningLink.id'))
    .addColumn('purpose', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('revokedAtMs', 'bigint')
    .execute();
  await schema.createIndex('tokenOfLink').on('listeningToken').columns(['linkId', 'purpose']).execute();
  const reported = (name: string) =>
    schema
      .createTable(name)
      .addColumn('id', 'text', (column) => column.primaryKey())
      .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
      .addColumn('prescriptionId', 'text', (column) => column.notNull().references('prescription.id'))
      .addColumn('versionNumber', 'integer', (column) => column.notNull())
      .addColumn('sessionNumber', 'integer', (column) => column.notNull())
      .addColumn('slot', 'text', (column) => column.notNull())
      .addColumn('linkId', 'text', (column) => column.notNull().references('listeningLink.id'))
      .addColumn('caregiverId', 'text', (column) => column.references('caregiver.id'))
      .addColumn('atMs', 'bigint', (column) => column.notNull())
      .addColumn('receivedAtMs', 'bigint', (column) => column.notNull());
  await reported('listeningStep')
    .addColumn('listeningId', 'text', (column) => column.notNull())
    .addColumn('step', 'text', (column) => column.notNull())
    .addColumn('positionMs', 'integer', (column) => column.notNull())
    .execute();
  await reported('notToday')
    .addColumn('reason', 'text', (column) => column.notNull())
    .execute();
  await reported('checkIn')
    .addColumn('listeningId', 'text', (column) => column.notNull())
    .addColumn('answers', 'text', (column) => column.notNull())
    .execute();
  await reported('warning')
    .addColumn('listeningId', 'text')
    .addColumn('positionMs', 'integer')
    .addColumn('signs', 'text', (column) => column.notNull())
    .execute();
  await reported('feedDelivery').execute();
  const tables = ['listeningStep', 'notToday', 'checkIn', 'warning', 'feedDelivery'];
  for (const table of tables) {
    await schema.createIndex(`${table}OfPatient`).on(table).columns(['patientId', 'atMs']).execute();
  }
  // How far a program's sessions have come is asked for again and again while one of them plays.
  for (const table of ['listeningStep', 'feedDelivery']) {
    await schema
      .createIndex(`${table}OfPrescription`)
      .on(table)
      .columns(['prescriptionId', 'slot'])
      .execute();
  }
  await schema
    .createTable('warningAnswer')
    .addColumn('warningId', 'text', (column) => column.primaryKey().references('warning.id'))
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('note', 'text', (column) => column.notNull())
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  for (const table of [...tables, 'warningAnswer']) await guardAppendOnly(db, kind, table);
}
