import type { Kysely } from 'kysely';

/** What was found about a note that may name a warning sign, by whoever read it. */
export async function noteFindings(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .alterTable('noteRead')
    .addColumn('found', 'text', (column) => column.notNull().defaultTo(''))
    .execute();
}
