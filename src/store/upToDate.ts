import { sql } from 'kysely';
import { type DatabaseKind, migrationsFor } from './migrations.js';
import type { Db } from './openStore.js';

/** Whether a database has taken every step of the schema that this version knows, and no other. Nothing is changed. */
export async function isUpToDate(db: Db, kind: DatabaseKind): Promise<boolean> {
  const { rows } = await sql<{ name: string }>`select name from kysely_migration order by name`.execute(db);
  const known = Object.keys(await migrationsFor(kind).getMigrations());
  return JSON.stringify(rows.map(({ name }) => name)) === JSON.stringify(known);
}
