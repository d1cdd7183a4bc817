import type { Kysely } from 'kysely';

/** What failed while the service ran, by kind and cause, and up to when each owner has seen it. */
export async function troubles(db: Kysely<unknown>): Promise<void> {
  const { schema } = db;
  await schema
    .createTable('incident')
    .addColumn('code', 'text', (column) => column.notNull())
    .addColumn('cause', 'text', (column) => column.notNull())
    .addColumn('times', 'integer', (column) => column.notNull())
    .addColumn('firstAtMs', 'bigint', (column) => column.notNull())
    .addColumn('lastAtMs', 'bigint', (column) => column.notNull())
    .addColumn('requestId', 'text')
    .addPrimaryKeyConstraint('incidentKey', ['code', 'cause'])
    .execute();
  await schema
    .alterTable('clinician')
    .addColumn('incidentsSeenAtMs', 'bigint', (column) => column.notNull().defaultTo(0))
    .execute();
}
