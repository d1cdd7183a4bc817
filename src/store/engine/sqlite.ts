import { closeSync, existsSync, mkdirSync, openSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import type Sqlite from 'better-sqlite3';
import { type Dialect, SqliteAdapter, SqliteDialect, sql } from 'kysely';
import { workError } from '../../errors/stillcountError.js';
import { cannotWrite, errorCodeOf } from '../../files/fileProblem.js';
import type { Db } from './db.js';
import { requireSqlite, type SqliteModule } from './requireSqlite.js';
import { refuseDamagedLog, refuseUnreadLog } from './writeAheadLog.js';

const toWrite =
  'make its folder one that this user may write in, or name another folder with STILLCOUNT_DATA';

/** How long a process that only checks whether a file is held may be in the way. */
const lookMs = 200;

/**
 * A number in the file's header that SQLite leaves to applications: "the last change may be missing", until it is
 * reported.
 */
const lacksLast = 1;

/** Clears the mark that the last change may be missing. Runs in the transaction that records it for people. */
export async function clearLastChangeMark(db: Db): Promise<void> {
  await sql`pragma user_version = 0`.execute(db);
}

/**
 * Opens a SQLite file for this process alone: write-ahead log, every commit on disk before it is acknowledged, foreign
 * keys enforced.
 *
 * @returns with it, whether the last change before a service was killed may be missing and this has not been reported
 *   yet
 * @throws StillcountError kind `work` if another process holds the file, its log is damaged, or it cannot be opened
 */
export async function openSqlite(
  file: string,
): Promise<{ dialect: Dialect; release: () => void; mayLackLast: boolean }> {
  const Database = requireSqlite();
  try {
    mkdirSync(dirname(file), { recursive: true });
  } catch (error) {
    throw cannotWrite(dirname(file), error, toWrite);
  }
  const release = holdAlone(file, Database);
  try {
    const isTorn = refuseDamagedLog(file);
    const connection = new Database(file);
    connection.pragma('journal_mode = wal');
    connection.pragma('synchronous = full');
    connection.pragma('foreign_keys = on');
    // Deleted data is overwritten: an erased record must not remain in the file.
    connection.pragma('secure_delete = on');
    if (isTorn) connection.pragma(`user_version = ${lacksLast}`);
    beginLogAnew(connection);
    const mayLackLast = connection.pragma('user_version', { simple: true }) === lacksLast;
    const database = {
      // On a full disk and some other faults SQLite has already rolled back. A second rollback would fail and hide the
      // cause.
      prepare: (statement: string) =>
        connection.prepare(statement === 'rollback' && !connection.inTransaction ? 'select 1' : statement),
      close: () => closeWhole(connection),
    };
    return { dialect: new WholeStepsDialect({ database }), release, mayLackLast };
  } catch (error) {
    release();
    throw error;
  }
}

/** SQLite rolls back schema changes like any other; Kysely runs migrations in a transaction if a dialect says so. */
class WholeStepsDialect extends SqliteDialect {
  override createAdapter(): SqliteAdapter {
    return new WholeStepsAdapter();
  }
}
class WholeStepsAdapter extends SqliteAdapter {
  override get supportsTransactionalDdl(): boolean {
    return true;
  }
}

/**
 * Opens a SQLite file for reading while another process holds it. A read-only connection could not remove its two
 * side files if no one holds it; so this one may write, and refuses every statement that would.
 *
 * @throws StillcountError kind `work` if there is none, or if no one holds it and its log is damaged or cut off:
 *   closing it would remove the log, and with it all evidence that something is missing
 */
export function viewSqlite(file: string): Dialect {
  const Database = requireSqlite();
  if (!existsSync(file)) {
    throw workError({ message: 'there is no database here yet', file, hint: 'start the service once' });
  }
  // The holder checked the log when it started, and may be writing to it now.
  if (!isHeld(file, Database)) refuseUnreadLog(file);
  const connection = new Database(file, { fileMustExist: true });
  try {
    connection.pragma('query_only = on');
  } catch (error) {
    connection.close();
    throw error;
  }
  return new SqliteDialect({ database: connection });
}

/**
 * Writes the log back into the file and empties it. Otherwise SQLite would continue in the log of a killed service,
 * whose remains after the last complete part would look, after the next power failure, like lost changes.
 */
function beginLogAnew(connection: Sqlite.Database): void {
  try {
    connection.pragma('wal_checkpoint(truncate)');
  } catch (error) {
    // Acknowledged changes are in the log, and can be read from it.
    if (errorCodeOf(error) !== 'SQLITE_FULL') throw error;
  }
}

/** Writes everything back into the file itself, so that it is complete without the two side files, and closes it. */
function closeWhole(connection: Sqlite.Database): void {
  try {
    connection.pragma('wal_checkpoint(truncate)');
  } finally {
    connection.close();
  }
}

/**
 * Takes a lock that the system releases when this process ends, however it ends: an exclusive transaction in a small
 * file beside the database, which is removed when the lock is released.
 */
function holdAlone(file: string, Database: SqliteModule): () => void {
  const lockFile = `${file}.lock`;
  try {
    for (;;) {
      makeEmpty(lockFile);
      const before = fileNumber(lockFile);
      const lock = new Database(lockFile, { timeout: lookMs });
      try {
        lock.pragma('locking_mode = exclusive');
        lock.exec('begin exclusive');
      } catch (error) {
        lock.close();
        throw error;
      }
      if (before !== null && before === fileNumber(lockFile)) return () => letGo(lock, lockFile);
      // Its last holder removed the file in the meantime: a lock on it would keep no one out.
      lock.close();
    }
  } catch (error) {
    if (errorCodeOf(error) !== 'SQLITE_BUSY') throw cannotWrite(lockFile, error, toWrite);
    throw workError(
      {
        message: 'another Stillcount service is using this database',
        file,
        hint: 'stop the other one first; for several processes use PostgreSQL (DATABASE_URL)',
      },
      error,
    );
  }
}

/** Whether a process holds a file, including this one; the check itself blocks others for a moment. */
function isHeld(file: string, Database: SqliteModule): boolean {
  const lockFile = `${file}.lock`;
  if (!existsSync(lockFile)) return false;
  try {
    const lock = new Database(lockFile, { readonly: true, timeout: 0 });
    try {
      lock.prepare('select 1 from sqlite_master').get();
    } finally {
      lock.close();
    }
    return false;
  } catch (error) {
    return errorCodeOf(error) === 'SQLITE_BUSY';
  }
}

/** Never opens an existing file: closing it would release every lock that this process has on it. */
function makeEmpty(lockFile: string): void {
  try {
    closeSync(openSync(lockFile, 'wx'));
  } catch (error) {
    if (errorCodeOf(error) !== 'EEXIST') throw error;
  }
}

function fileNumber(path: string): bigint | null {
  return statSync(path, { bigint: true, throwIfNoEntry: false })?.ino ?? null;
}

/** Removed while it is still held, so that a process that opens it in the meantime finds it held, or gone. */
function letGo(lock: Sqlite.Database, lockFile: string): void {
  try {
    rmSync(lockFile, { force: true });
  } catch {
    // Some systems keep a file while it is open; a leftover file hinders no one.
  }
  lock.close();
}
