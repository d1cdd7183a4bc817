import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import Sqlite from 'better-sqlite3';
import { type Dialect, SqliteAdapter, SqliteDialect } from 'kysely';
import { workError } from '../errors/stillcountError.js';
import { cannotWrite, errorCodeOf } from '../files/fileProblem.js';
import { requireSqlite } from './requireSqlite.js';

/**
 * Opens a SQLite file for this process alone: write-ahead log, every commit on the disk before it is acknowledged,
 * foreign keys kept.
 *
 * @throws StillcountError kind `work` when another process holds the file or it cannot be opened
 */
export async function openSqlite(file: string): Promise<{ dialect: Dialect; release: () => void }> {
  requireSqlite();
  try {
    mkdirSync(dirname(file), { recursive: true });
  } catch (error) {
    throw cannotWrite(dirname(file), error);
  }
  const release = holdAlone(file);
  try {
    const database = new Sqlite(file);
    database.pragma('journal_mode = wal');
    database.pragma('synchronous = full');
    database.pragma('foreign_keys = on');
    // What is deleted is overwritten: a record that was erased must not stand in the file any longer.
    database.pragma('secure_delete = on');
    return { dialect: new WholeStepsDialect({ database }), release };
  } catch (error) {
    release();
    throw error;
  }
}

/** SQLite takes changes of its tables back like any other; Kysely runs steps in a transaction where a dialect says so. */
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

/** Opens a SQLite file for reading only, beside the process that holds it. */
export function viewSqlite(file: string): Dialect {
  requireSqlite();
  if (!existsSync(file)) throw workError({ message: 'there is no database here yet', file });
  return new SqliteDialect({ database: new Sqlite(file, { readonly: true }) });
}

/**
 * Takes a lock that the system itself lets go when this process ends, however it ends: an exclusive transaction in
 * a small file beside the database.
 */
function holdAlone(file: string): () => void {
  const lockFile = `${file}.lock`;
  try {
    const lock = new Sqlite(lockFile, { timeout: 0 });
    try {
      lock.pragma('locking_mode = exclusive');
      lock.exec('begin exclusive');
    } catch (error) {
      lock.close();
      throw error;
    }
    return () => lock.close();
  } catch (error) {
    if (errorCodeOf(error) !== 'SQLITE_BUSY') throw cannotWrite(lockFile, error);
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
