import { type Kysely, sql } from 'kysely';
import { guardAppendOnly } from './appendOnly.js';
import type { DatabaseKind } from './databaseKind.js';
import { sumUpAll } from './sumUpAll.js';

/** What was heard in sum, what was measured, what was advised and answered, and notes on progress. */
export async function followUp(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
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
  for (const table of ['listeningStep', 'checkIn'])
    await schema.alterTable(table).addColumn('choice', 'text').execute();
  await schema.createIndex('stepOfListening').on('listeningStep').column('listeningId').execute();
  await sumUpAll(db);
  await measures(db, kind);
  await schema
    .createTable('adviceAnswer')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('prescriptionId', 'text', (column) => column.notNull().references('prescription.id'))
    .addColumn('versionNumber', 'integer', (column) => column.notNull())
    .addColumn('exerciseIndex', 'integer')
    .addColumn('advice', 'text', (column) => column.notNull())
    .addColumn('answer', 'text', (column) => column.notNull())
    .addColumn('reason', 'text', (column) => column.notNull())
    .addColumn('newVersionNumber', 'integer')
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema.createIndex('adviceAnswerOf').on('adviceAnswer').columns(['patientId', 'atMs']).execute();
  await guardAppendOnly(db, kind, 'adviceAnswer');
  await schema
    .createTable('progressNote')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('fromDay', 'text', (column) => column.notNull())
    .addColumn('untilDay', 'text', (column) => column.notNull())
    .addColumn('text', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await adviceWatch(db);
  await schema.createIndex('progressNoteOf').on('progressNote').columns(['patientId', 'atMs']).execute();
  await guardAppendOnly(db, kind, 'progressNote');
}

async function measures(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('measureTaken')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('measureId', 'text', (column) => column.notNull())
    .addColumn('value', 'double precision', (column) => column.notNull())
    .addColumn('entered', 'text', (column) => column.notNull())
    .addColumn('takenOn', 'text', (column) => column.notNull())
    .addColumn('note', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema.createIndex('measureTakenOf').on('measureTaken').columns(['patientId', 'takenOn']).execute();
  await guardAppendOnly(db, kind, 'measureTaken');
  await schema
    .createTable('measureWithdrawn')
    .addColumn('measureTakenId', 'text', (column) => column.primaryKey().references('measureTaken.id'))
    .addColumn('reason', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await guardAppendOnly(db, kind, 'measureWithdrawn');
  await schema
    .createTable('ownMeasure')
    .addColumn('id', 'text', (column) => column.primaryKey())
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('patientId', 'text', (column) => column.references('patient.id'))
    .addColumn('name', 'text', (column) => column.notNull())
    .addColumn('unit', 'text', (column) => column.notNull())
    .addColumn('least', 'double precision', (column) => column.notNull())
    .addColumn('most', 'double precision', (column) => column.notNull())
    .addColumn('better', 'text', (column) => column.notNull())
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('createdAtMs', 'bigint', (column) => column.notNull())
    .addColumn('endedAtMs', 'bigint')
    .execute();
  await schema.createIndex('ownMeasureOf').on('ownMeasure').column('clinicId').execute();
}

async function adviceWatch(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('adviceWatch')
    .addColumn('patientId', 'text', (column) => column.primaryKey().references('patient.id'))
    .addColumn('clinicId', 'text', (column) => column.notNull().references('clinic.id'))
    .addColumn('lookAtMs', 'bigint', (column) => column.notNull())
    .addColumn('waits', 'text')
    .addColumn('sinceMs', 'bigint')
    .execute();
  await db.schema.createIndex('adviceToLookAt').on('adviceWatch').column('lookAtMs').execute();
  // Everybody who is here already is looked at once.
  await sql`insert into "adviceWatch" ("patientId", "clinicId", "lookAtMs")
    select "id", "clinicId", 0 from "patient"`.execute(db);
}
