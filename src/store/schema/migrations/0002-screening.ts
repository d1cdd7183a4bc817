import { type Kysely, sql } from 'kysely';
import { guardAppendOnly } from './appendOnly.js';
import type { DatabaseKind } from './databaseKind.js';

/** Precaution interviews, what needs attention, caregivers, consents, a clinic's own programs, and keys for other programs. */
export async function screening(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('screening')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('number', 'integer', (column) => column.notNull())
    .addColumn('answers', 'text', (column) => column.notNull())
    .addColumn('stops', 'integer', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .addUniqueConstraint('screeningNumber', ['patientId', 'number'])
    .execute();
  await schema
    .createTable('caregiver')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('name', 'text', (column) => column.notNull())
    .addColumn('relation', 'text', (column) => column.notNull())
    .addColumn('phone', 'text', (column) => column.notNull())
    .addColumn('email', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('endedAtMs', 'bigint')
    .execute();
  await schema.createIndex('caregiverOfPatient').on('caregiver').columns(['patientId']).execute();
  await schema
    .createTable('consent')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('caregiverId', 'text', (column) => column.references('caregiver.id'))
    .addColumn('kind', 'text', (column) => column.notNull())
    .addColumn('number', 'integer', (column) => column.notNull())
    .addColumn('isGiven', 'integer', (column) => column.notNull())
    .addColumn('onDate', 'text', (column) => column.notNull())
    .addColumn('note', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .addUniqueConstraint('consentNumber', ['patientId', 'number'])
    .execute();
  await schema
    .createTable('clinicProgram')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('title', 'text', (column) => column.notNull())
    .addColumn('content', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('endedAtMs', 'bigint')
    .execute();
  await schema
    .createIndex('clinicProgramOfClinic')
    .on('clinicProgram')
    .columns(['clinicId', 'title'])
    .execute();
  await schema
    .createTable('accessKey')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('tokenHash', 'text', (column) => column.notNull().unique())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('name', 'text', (column) => column.notNull())
    .addColumn('mayWrite', 'integer', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('lastSeenAtMs', 'bigint')
    .addColumn('endedAtMs', 'bigint')
    .execute();
  await schema
    .createTable('attention')
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('kind', 'text', (column) => column.notNull())
    .addColumn('subject', 'text', (column) => column.notNull())
    .addColumn('sinceMs', 'bigint', (column) => column.notNull())
    .addPrimaryKeyConstraint('attentionKey', ['patientId', 'kind', 'subject'])
    .execute();
  await schema.createIndex('attentionOfClinic').on('attention').columns(['clinicId', 'sinceMs']).execute();
  // Nobody has been asked yet who came before there was an interview.
  await sql`insert into "attention" ("clinicId", "patientId", "kind", "subject", "sinceMs")
    select "clinicId", "id", 'to-screen', "id", "createdAtMs" from "patient"`.execute(db);
  await schema.alterTable('auditEntry').addColumn('accessKeyId', 'text').execute();
  await schema.alterTable('prescription').addColumn('workId', 'text').execute();
  await schema.createIndex('prescriptionOfWork').on('prescription').column('workId').unique().execute();
  await schema.alterTable('prescriptionVersion').addColumn('screeningId', 'text').execute();
  await schema
    .createIndex('prescriptionByState')
    .on('prescription')
    .columns(['state', 'patientId'])
    .execute();
  for (const table of ['screening', 'consent']) await guardAppendOnly(db, kind, table);
}
