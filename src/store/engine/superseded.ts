import { sql } from 'kysely';
import { StillcountError, workError } from '../../errors/stillcountError.js';
import type { DatabaseKind } from '../schema/migrations.js';
import type { Db } from './db.js';
import type { Store } from './openStore.js';
import { listNewerSteps } from './upToDate.js';

/**
 * The advisory lock that Kysely 0.28 and later hold on a PostgreSQL server from before the migrations of an upgrade
 * until they are committed: LOCK_ID in its postgres-adapter.js, which it does not export.
 */
const upgradeLock = sql.lit('3853314791062309107');
const message = 'a newer version of Stillcount works on the same records, so nothing can be saved here';

/**
 * The same store, for everything that a service does by its own rules: it refuses to write into a database that a newer
 * version has upgraded in the meantime. The check is part of the transaction, so no upgrade can overtake it.
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
 * Runs in a transaction, before anything else. On PostgreSQL an upgrade then waits for the transaction, and the
 * transaction waits for an upgrade in progress: only a statement that starts afterward sees its result.
 *
 * @throws StillcountError kind `work` if a newer version has upgraded the database
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

/** For writes on the way to a read-only response, which is just as good without them. */
export function ignoreSuperseded(error: unknown): void {
  if (!isSuperseded(error)) throw error;
}
