import { sql } from 'kysely';
import type { z } from 'zod';
import { inputError } from '../../errors/stillcountError.js';
import { writeWhole } from '../../files/wholeFile.js';
import { hasClinic } from '../accounts/clinicians.js';
import { backupLines, checkBackup, parseLines, rowSchema } from '../engine/backupFile.js';
import type { Db } from '../engine/db.js';
import { openStore, readSnapshot, type StoreSettings } from '../engine/openStore.js';
import { refuseSuperseded } from '../engine/superseded.js';

const insertedAtOnce = 50;

/**
 * Writes everything into one file, even while the service runs, and reads it back.
 *
 * @returns the number of rows
 * @throws StillcountError kind `work` if the database cannot be read or the file cannot be written
 */
export async function backUp(settings: StoreSettings, file: string): Promise<number> {
  await readSnapshot(settings, async (db) => {
    // It would lack what only the newer version knows.
    await refuseSuperseded(db, settings.kind);
    await writeWhole(file, backupLines(db));
  });
  return (await checkBackup(file)).rows;
}

/**
 * Restores a backup into an empty database: all of it or nothing. One from an earlier version is restored as it was,
 * and the database is then upgraded.
 *
 * @returns the number of rows
 * @throws StillcountError kind `input` for a file that is not a backup, is damaged or from a newer version, or for a
 *   database that has a clinic; kind `work` if the database fails
 */
export async function restore(file: string, settings: StoreSettings): Promise<number> {
  const { rows, step } = await checkBackup(file);
  const store = await openStore(settings, step);
  try {
    await store.write(async (db) => {
      if (await hasClinic(db)) {
        throw inputError({
          message: 'this database already has a clinic',
          hint: 'restore into an empty one: another STILLCOUNT_DATA folder or DATABASE_URL',
        });
      }
      await insertAll(db, file);
      if (store.kind === 'postgres') await goOnCounting(db);
    });
  } finally {
    await store.close();
  }
  await (await openStore(settings)).close();
  return rows;
}

async function insertAll(db: Db, file: string): Promise<void> {
  let waiting: z.infer<typeof rowSchema>[] = [];
  const insertWaiting = async () => {
    const [first] = waiting;
    if (first === undefined) return;
    const columns = Object.keys(first.row);
    const values = waiting.map(({ row }) => sql`(${sql.join(columns.map((column) => row[column] ?? null))})`);
    const names = sql.join(columns.map((column) => sql.ref(column)));
    await sql`insert into ${sql.table(first.table)} (${names}) values ${sql.join(values)}`.execute(db);
    waiting = [];
  };
  let isFirstSecret = true;
  for await (const { value } of parseLines(file)) {
    const line = rowSchema.safeParse(value);
    if (!line.success) continue;
    if (line.data.table === 'serviceSecret' && isFirstSecret) {
      // What a service generated when it started on the new database is replaced by the clinic's own.
      await db.deleteFrom('serviceSecret').execute();
      isFirstSecret = false;
    }
    // A key revoked after the backup must not come back to life.
    if (line.data.table === 'accessKey') line.data.row.endedAtMs ??= Date.now();
    // From before this was recorded: cautious until someone re-screens, like the migration that fixes such databases.
    if (line.data.table === 'screening') line.data.row.stops ??= 1;
    if (waiting.length >= insertedAtOnce || (waiting[0]?.table ?? line.data.table) !== line.data.table) {
      await insertWaiting();
    }
    waiting.push(line.data);
  }
  await insertWaiting();
}

/** PostgreSQL's own counter does not know about numbers inserted by hand. */
async function goOnCounting(db: Db): Promise<void> {
  await sql`select setval(pg_get_serial_sequence('"auditEntry"', 'sequence'),
    (select coalesce(max("sequence"), 0) + 1 from "auditEntry"), false)`.execute(db);
}
