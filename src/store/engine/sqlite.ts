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

/** For as long a process that only looks whether someone holds a file may be in the way. */
const lookMs = 200;

/** A number of the file's head that SQLite leaves to its users: "the last change may be missing", until it is told. */
const lacksLast = 1;

/**
 * Takes the mark away that the last change may be missing. Run it in the transaction that writes it down for people.
 */
export async function clearLastChangeMark(db: Db): Promise<void> {
  await sql`pragma user_version = 0`.execute(db);
}

/**
 * Opens a SQLite file for this process alone: write-ahead log, every commit on the disk before it is acknowledged,
 * foreign keys kept.
 *
 * @returns with it, whether the last change before a service was killed may be missing and no one was told yet
 * @throws StillcountError kind `work` when another process holds the file, its log is damaged, or it cannot be opened
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
    // What is deleted is overwritten: a record that was erased must not stand in the file any longer.
    connection.pragma('secure_delete = on');
    if (isTorn) connection.pragma(`user_version = ${lacksLast}`);
    beginLogAnew(connection);
    const mayLackLast = connection.pragma('user_version', { simple: true }) === lacksLast;
    const database = {
      // On a full disk and some other faults SQLite has rolled back by itself. A second rollback would fail and hide
      // why.
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

/**
 * SQLite takes changes of its tables back like any other; Kysely runs steps in a transaction where a dialect says so.
 */
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
 * Opens a SQLite file for reading, beside the process that holds it. A connection that may only read could not take its
 * two files away again where no one holds it; so this one may write, and refuses every statement that would.
 *
 * @throws StillcountError kind `work` where there is none, or where no one holds it and its log is damaged or cut off:
 *   closing it would take the log away, and with it all that says that something is missing
 */
export function viewSqlite(file: string): Dialect {
  const Database = requireSqlite();
  if (!existsSync(file)) {
    throw workError({ message: 'there is no database here yet', file, hint: 'start the service once' });
  }
  // Whoever holds it looked at the log when it began, and may be writing to it now.
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
 * Takes what the log holds into the file and empties it. Otherwise SQLite writes on in the log of a killed service,
 * whose remains behind the last whole part would look, after the next power cut, like changes that were lost.
 */
function beginLogAnew(connection: Sqlite.Database): void {
  try {
    connection.pragma('wal_checkpoint(truncate)');
  } catch (error) {
    // What was acknowledged stands in the log, and can be read from it.
    if (errorCodeOf(error) !== 'SQLITE_FULL') throw error;
  }
}

/** Brings everything into the file itself, so that it is whole without the two beside it, and closes it. */
function closeWhole(connection: Sqlite.Database): void {
  try {
    connection.pragma('wal_checkpoint(truncate)');
  } finally {
    connection.close();
  }
}

/**
 * Takes a lock that the system itself lets go when this process ends, however it ends: an exclusive transaction in
 * a small file beside the database, which is taken away when the lock is let go.
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
      // Its last holder took the file away in the meantime: a lock on it would keep no one out.
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

/** Whether a process holds a file, this one too; what it finds out with keeps another from holding it for a moment. */
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

/** Never opens a file that is there: closing it would let go of every lock that this process has on it. */
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

/** Taken away while it is still held, so that whoever opens it meanwhile finds it held, or gone. */
function letGo(lock: Sqlite.Database, lockFile: string): void {
  try {
    rmSync(lockFile, { force: true });
  } catch {
    // Some systems keep a file for as long as it is open; an old one hinders no one.
  }
  lock.close();
}
