import { sql } from 'kysely';
import { StillcountError, workError } from '../../errors/stillcountError.js';
import type { DatabaseKind } from '../schema/migrations.js';
import type { Db } from './db.js';
import type { Store } from './openStore.js';
import { listNewerSteps } from './upToDate.js';

/**
 * The advisory lock that Kysely 0.28 and later hold on a PostgreSQL server from before the steps of an upgrade until
 * they are committed: LOCK_ID in its postgres-adapter.js, which it does not export.
 */
const upgradeLock = sql.lit('3853314791062309107');
const message = 'a newer version of Stillcount works on the same records, so nothing can be saved here';

/**
 * The same store for everything that a service does by its own rules: it refuses to write into a database that a newer
 * version has upgraded under it. It is asked in the transaction itself, which no upgrade can overtake.
 */
export function guardStore(store: Store): Store {
  return {
    ...store,
    write: (work) =>
      store.write(async (db) => {
        await refuseSuperseded(db, store.kind);
        return work(db);
      }),
  };
}

/**
 * Run it in a transaction, before anything else. On PostgreSQL an upgrade then waits until that is over, and it waits
 * for one that is under way: only a statement that begins afterwards sees what that one has done.
 *
 * @throws StillcountError kind `work` where a newer version has upgraded the database
 */
export async function refuseSuperseded(db: Db, kind: DatabaseKind): Promise<void> {
  if (kind === 'postgres') await sql`select pg_advisory_xact_lock_shared(${upgradeLock}::bigint)`.execute(db);
  if ((await listNewerSteps(db, kind)).length === 0) return;
  throw workError({ message, hint: 'stop or upgrade this one, and use the newer one' });
}

/** Whether something was refused because a newer version has upgraded the database. */
export function isSuperseded(error: unknown): boolean {
  return error instanceof StillcountError && error.problems[0]?.message === message;
}

/** For what is written beside an answer that only reads: without it the answer is as good. */
export function ignoreSuperseded(error: unknown): void {
  if (!isSuperseded(error)) throw error;
}
