import { type Kysely, sql } from 'kysely';
import { guardErasable } from './appendOnly.js';
import type { DatabaseKind } from './databaseKind.js';

const atOnce = 500;

/** Notes of listeners and caregivers, who has read them and when, and when a clinic says that it reads them. */
export async function notes(db: Kysely<unknown>, kind: DatabaseKind): Promise<void> {
  const { schema } = db;
  await schema
    .alterTable('clinic')
    .addColumn('notesReading', 'text', (column) => column.notNull().defaultTo(''))
    .execute();
  await schema
    .createTable('note')
    .addColumn('checkInId', 'text', (column) => column.primaryKey().references('checkIn.id'))
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('signs', 'text', (column) => column.notNull().defaultTo('[]'))
    .addColumn('wordsHash', 'text', (column) => column.notNull().defaultTo(''))
    .execute();
  await schema.createIndex('noteOfPatient').on('note').column('patientId').execute();
  await schema
    .createTable('noteRead')
    .addColumn('checkInId', 'text', (column) => column.primaryKey().references('checkIn.id'))
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('clinicianId', 'text', (column) => column.notNull().references('clinician.id'))
    .addColumn('atMs', 'bigint', (column) => column.notNull())
    .execute();
  await schema.createIndex('noteReadOfPatient').on('noteRead').column('patientId').execute();
  await guardErasable(db, kind, 'noteRead');
  await keepNotesOfBefore(db);
}

/** Nobody was asked to read these: they wait as new ones do. The service looks at their words when it starts. */
async function keepNotesOfBefore(db: Kysely<unknown>): Promise<void> {
  for (let after = ''; ; ) {
    const { rows } = await sql<{ id: string; patientId: string; answers: string }>`
      select "id", "patientId", "answers" from "checkIn"
      where "answers" like '%"note":"%' and "id" > ${after} order by "id" limit ${atOnce}`.execute(db);
    const values = rows
      .filter(({ answers }) => hasNote(answers))
      .map(({ id, patientId }) => sql`(${id}, ${patientId})`);
    if (values.length > 0) {
      await sql`insert into "note" ("checkInId", "patientId") values ${sql.join(values)}`.execute(db);
    }
    const last = rows.at(-1);
    if (last === undefined || rows.length < atOnce) return;
    after = last.id;
  }
}

function hasNote(answers: string): boolean {
  const { note } = Object(JSON.parse(answers));
  return typeof note === 'string' && note.trim() !== '';
}
