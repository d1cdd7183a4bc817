import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PGlite } from '@electric-sql/pglite';
import { Kysely, type Migration, Migrator } from 'kysely';
import { PGliteDialect } from 'kysely-pglite-dialect';
import { openStore, type Store } from '../../src/store/engine/openStore.js';
import { migrationsFor } from '../../src/store/schema/migrations.js';
import type { Database } from '../../src/store/schema/schema.js';
import { makePostgresServer, postgresPrograms } from './postgresServer.js';

/** A kind of database that every test of the contract runs against. */
export type TestDatabase = {
  name: string;
  open: () => Promise<{ store: Store; close: () => Promise<void> }>;
};

const programs = postgresPrograms();
/** Said by tests that cannot run; under CI it is a failure instead. */
export const whyNoServer = 'no PostgreSQL server is installed (Debian: apt-get install postgresql)';
export const hasServer = programs !== undefined;

/** The PostgreSQL in the process only stands in for a server: to start one takes seconds, and says nothing more. */
export const databases: readonly TestDatabase[] = [
  { name: 'SQLite', open: openSqliteStore },
  programs === undefined
    ? { name: 'PostgreSQL in the process', open: openPgliteStore }
    : { name: 'a PostgreSQL server', open: () => openServerStore(programs) },
];

export async function openSqliteStore() {
  const folder = mkdtempSync(join(tmpdir(), 'stillcount-store-'));
  const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
  return {
    store,
    close: async () => {
      await store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

async function openServerStore(folder: string) {
  const server = await makePostgresServer(folder);
  const store = await openStore({ kind: 'postgres', url: server.url, backups: 'none' });
  return {
    store,
    close: async () => {
      await store.close();
      await server.remove();
    },
  };
}

/** The product never opens this one: only its dialect differs from a server's. */
async function openPgliteStore() {
  const db = new Kysely<Database>({ dialect: new PGliteDialect(new PGlite()) });
  const { error } = await new Migrator({ db, provider: migrationsFor('postgres') }).migrateToLatest();
  if (error !== undefined) throw error;
  const store: Store = {
    kind: 'postgres',
    read: (work) => work(db),
    write: (work) => db.transaction().execute(work),
    close: () => db.destroy(),
  };
  return { store, close: () => store.close() };
}

/** The names of the released steps, in order. */
export async function releasedSteps(): Promise<string[]> {
  const steps: Record<string, Migration> = await migrationsFor('sqlite').getMigrations();
  return Object.keys(steps);
}
