import { type Kysely, sql } from 'kysely';

/** When signed programs could not be played: what was due then is held against nobody, also once it is over. */
export async function notPlayable(db: Kysely<unknown>): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('notPlayable')
    .addColumn('prescriptionId', 'text', (column) => column.notNull().references('prescription.id'))
    .addColumn('patientId', 'text', (column) => column.notNull().references('patient.id'))
    .addColumn('fromMs', 'bigint', (column) => column.notNull())
    .addColumn('untilMs', 'bigint')
    .addPrimaryKeyConstraint('notPlayableKey', ['prescriptionId', 'fromMs'])
    .execute();
  await schema.createIndex('notPlayableOfPatient').on('notPlayable').column('patientId').execute();
  // What was over before this step was not kept.
  await sql`insert into "notPlayable" ("prescriptionId", "patientId", "fromMs")
    select "attention"."subject", "attention"."patientId", "attention"."sinceMs" from "attention"
    inner join "prescription" on "prescription"."id" = "attention"."subject"
    where "attention"."kind" = 'not-playable' and "prescription"."state" = 'active'`.execute(db);
}
