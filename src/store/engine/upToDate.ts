import { sql } from 'kysely';
import { type DatabaseKind, migrationsFor } from '../schema/migrations.js';
import type { Db } from './openStore.js';

/** Lists the migrations of a database that this version does not know: a newer version ran them. */
export async function listNewerSteps(db: Db, kind: DatabaseKind): Promise<string[]> {
  const known = Object.keys(await migrationsFor(kind).getMigrations());
  const { rows } = await sql<{ name: string }>`select name from kysely_migration
    where name not in (${sql.join(known)}) order by name`.execute(db);
  return rows.map(({ name }) => name);
}

/** Whether a database has run every migration that this version knows, and no other. Nothing is changed. */
export async function isUpToDate(db: Db, kind: DatabaseKind): Promise<boolean> {
  const { rows } = await sql<{ name: string }>`select name from kysely_migration order by name`.execute(db);
  const known = Object.keys(await migrationsFor(kind).getMigrations());
  return JSON.stringify(rows.map(({ name }) => name)) === JSON.stringify(known);
}
