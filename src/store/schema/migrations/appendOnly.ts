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

/**
 * The same for a table that names its patient, from the step on at which records can be erased: its rows go with the
 * record of a patient who stands erased, and no other way.
 */
export async function guardErasable(db: Kysely<unknown>, kind: DatabaseKind, table: string): Promise<void> {
  const name = sql.ref(table);
  const isErased = (row: string) =>
    `exists (select 1 from "erasure" where "erasure"."patientId" = ${row}."patientId")`;
  if (kind === 'postgres') {
    await sql`create trigger "neverChanged" before update on ${name}
      for each row execute function "refuseChange"()`.execute(db);
    await sql`create trigger "neverDeleted" before delete on ${name}
      for each row execute function "refuseUnlessErased"(${sql.lit(isErased('($1)'))})`.execute(db);
    await sql`create trigger "neverEmptied" before truncate on ${name}
      for each statement execute function "refuseChange"()`.execute(db);
    return;
  }
  await sql`create trigger ${sql.ref(`${table}Neverupdate`)} before update on ${name}
    begin select raise(abort, 'rows of this table are never changed'); end`.execute(db);
  await sql`create trigger ${sql.ref(`${table}Neverdelete`)} before delete on ${name}
    when not ${sql.raw(isErased('old'))}
    begin select raise(abort, 'rows of this table are never changed'); end`.execute(db);
}
