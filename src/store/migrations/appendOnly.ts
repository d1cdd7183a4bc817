import { type Kysely, sql } from 'kysely';
import type { DatabaseKind } from './databaseKind.js';

/** PostgreSQL only, once: what the guards of its tables call. */
export async function makeRefusal(db: Kysely<unknown>): Promise<void> {
  await sql`create function "refuseChange"() returns trigger language plpgsql as
    $$ begin raise exception 'rows of % are never changed', tg_table_name; end $$`.execute(db);
}

/** The database itself refuses to change what was written once into a table, whoever asks. */
export async function guardAppendOnly(db: Kysely<unknown>, kind: DatabaseKind, table: string): Promise<void> {
  const name = sql.ref(table);
  if (kind === 'postgres') {
    await sql`create trigger "neverChanged" before update or delete on ${name}
      for each row execute function "refuseChange"()`.execute(db);
    await sql`create trigger "neverEmptied" before truncate on ${name}
      for each statement execute function "refuseChange"()`.execute(db);
    return;
  }
  for (const change of ['update', 'delete']) {
    await sql`create trigger ${sql.ref(`${table}Never${change}`)} before ${sql.raw(change)} on ${name}
      begin select raise(abort, 'rows of this table are never changed'); end`.execute(db);
  }
}
