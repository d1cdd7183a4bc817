import type { Kysely } from 'kysely';
import { guardAppendOnly, makeRefusal } from './appendOnly.js';
import type { DatabaseKind } from './databaseKind.js';

/** Clinics, people, prescriptions with their versions, drafts and the trail. */
export async function prescribing(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('clinic')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('name', 'text', (column) => column.notNull())
    .addColumn('zone', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema
    .createTable('clinician')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('email', 'text', (column) => column.notNull().unique())
    .addColumn('name', 'text', (column) => column.notNull())
    .addColumn('role', 'text', (column) => column.notNull())
    .addColumn('passwordHash', 'text', (column) => column.notNull())
    .addColumn('totpSecret', 'text')
    .addColumn('totpLastStep', 'bigint', (column) => column.notNull().defaultTo(0))
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('endedAtMs', 'bigint')
    .execute();
  await schema
    .createTable('invitation')
    .addColumn('tokenHash', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.references('clinic.id'))
    .addColumn('role', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('expiresAtMs', 'bigint', (column) => column.notNull())
    .addColumn('usedAtMs', 'bigint')
    .execute();
  await schema
    .createTable('signInSession')
    .addColumn('tokenHash', 'text', (column) => column.primaryKey())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('formToken', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('lastSeenAtMs', 'bigint', (column) => column.notNull())
    .addColumn('expiresAtMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema
    .createTable('patient')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('name', 'text', (column) => column.notNull())
    .addColumn('spokenName', 'text', (column) => column.notNull())
    .addColumn('sayAs', 'text', (column) => column.notNull())
    .addColumn('birthYear', 'integer')
    .addColumn('language', 'text', (column) => column.notNull())
    .addColumn('zone', 'text', (column) => column.notNull())
    .addColumn('phone', 'text', (column) => column.notNull())
    .addColumn('email', 'text', (column) => column.notNull())
    .addColumn('hearingNotes', 'text', (column) => column.notNull())
    .addColumn('goals', 'text', (column) => column.notNull())
    .addColumn('searchName', 'text', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('revision', 'integer', (column) => column.notNull())
    .execute();
  await schema.createIndex('patientByName').on('patient').columns(['clinicId', 'searchName', 'id']).execute();
  await schema
    .createTable('prescription')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('title', 'text', (column) => column.notNull())
    .addColumn('state', 'text', (column) => column.notNull())
    .addColumn('newestVersion', 'integer', (column) => column.notNull())
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema
    .createIndex('prescriptionOfPatient')
    .on('prescription')
    .columns(['patientId', 'createdAtMs'])
    .execute();
  await schema
    .createTable('prescriptionVersion')
    .addColumn('prescriptionId', 'text', (column) => column.notNull().references('prescription.id'))
    .addColumn('number', 'integer', (column) => column.notNull())
    .addColumn('content', 'text', (column) => column.notNull())
    .addColumn('reason', 'text', (column) => column.notNull())
    .addColumn('signedBy', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('signedAtMs', 'bigint', (column) => column.notNull())
    .addPrimaryKeyConstraint('prescriptionVersionKey', ['prescriptionId', 'number'])
    .execute();
  await schema
    .createTable('prescriptionState')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('prescriptionId', 'text', (column) => column.notNull().references('prescription.id'))
    .addColumn('state', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('reason', 'text', (column) => column.notNull())
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema
    .createTable('draft')
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('prescriptionId', 'text', (column) => column.notNull())
    .addColumn('content', 'text', (column) => column.notNull())
    .addColumn('basedOnNumber', 'integer', (column) => column.notNull())
    .addColumn('updatedAtMs', 'bigint', (column) => column.notNull())
    .addPrimaryKeyConstraint('draftKey', ['clinicianId', 'patientId', 'prescriptionId'])
    .execute();
  await schema
    .createTable('auditEntry')
    .addColumn('sequence', kind === 'sqlite' ? 'integer' : 'bigserial', (column) =>
      kind === 'sqlite' ? column.primaryKey().autoIncrement() : column.primaryKey(),
    )
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text', (column) => column.references('patient.id'))
    .addColumn('clinicianId', 'text', (column) => column.references('clinician.id'))
    .addColumn('action', 'text', (column) => column.notNull())
    .addColumn('subject', 'text', (column) => column.notNull())
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema.createIndex('auditOfClinic').on('auditEntry').columns(['clinicId', 'sequence']).execute();
  await schema.createIndex('auditOfPatient').on('auditEntry').columns(['patientId', 'sequence']).execute();
  if (kind === 'postgres') await makeRefusal(db);
  for (const table of ['prescriptionVersion', 'prescriptionState', 'auditEntry'])
    await guardAppendOnly(db, kind, table);
}
