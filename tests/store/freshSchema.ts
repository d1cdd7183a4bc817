import { Kysely, Migrator, SqliteDialect } from 'kysely';
import { migrationsFor } from '../../src/store/schema/migrations.js';
import type { Database } from '../../src/store/schema/schema.js';
import { type Schema, schemaOf } from '../../src/store/schema/schemaDifferences.js';
import { Sqlite } from '../sqlite.js';

/** The shape of a database in memory that has taken every step. */
export async function freshSchema(): Promise<Schema> {
  const db = new Kysely<Database>({ dialect: new SqliteDialect({ database: new Sqlite(':memory:') }) });
  try {
    const { error } = await new Migrator({ db, provider: migrationsFor('sqlite') }).migrateToLatest();
    if (error !== undefined) throw error;
    return await schemaOf(db, 'sqlite');
  } finally {
    await db.destroy();
  }
}
