import { dirname, join } from 'node:path';
import { Kysely } from 'kysely';
import { placed } from '../../errors/stillcountError.js';
import type { DatabaseKind } from '../schema/migrations.js';
import type { Database } from '../schema/schema.js';
import { refuseDamaged } from './damage.js';
import type { Db } from './db.js';
import { explainFailure } from './failures.js';
import { lastChangeCause, noteIncidents } from './incidents.js';
import { clearLastChangeMark, openSqlite, viewSqlite } from './sqlite.js';
import { upgrade } from './upgrade.js';

export type StoreSettings =
  /** `backups` is the folder for the copy made before an upgrade; by default, beside the file. */
  { kind: 'sqlite'; file: string; backups?: string } | { kind: 'postgres'; url: string; backups: string };

export type { Db } from './db.js';

/** The single store of all persistent data. */
export interface Store {
  readonly kind: DatabaseKind;
  /**
   * Whether opening it revealed that the last change before a service was killed may be missing. By then the owners'
   * home page says so.
   */
  readonly mayLackLast?: boolean;
  /**
   * Runs a read-only operation.
   *
   * @throws StillcountError kind `work` in plain words if the database fails; the same store works again once the
   *   problem is gone.
   */
  read<Result>(work: (db: Db) => Promise<Result>): Promise<Result>;
  /** Runs an operation in one transaction: all of it is stored, or nothing. Errors as for `read`. */
  write<Result>(work: (db: Db) => Promise<Result>): Promise<Result>;
  close(): Promise<void>;
}

/**
 * Opens the database, creating or upgrading its tables first.
 *
 * @param upTo the migration to stop at, for restoring an earlier backup; by default, the newest
 * @param onUpgrade called before a database of an earlier version is backed up and upgraded, and again with the backup
 *   afterward
 * @throws StillcountError kind `work` if it cannot be reached, is held by another process, was written by a newer
 *   version of this project, is damaged, cannot be backed up or upgraded, or has an unexpected structure; kind `input`
 *   if it is already beyond `upTo`
 */
export async function openStore(
  settings: StoreSettings,
  upTo?: string,
  onUpgrade: (copy?: string) => void = () => undefined,
): Promise<Store> {
  const bringUp = (db: Kysely<Database>) =>
    upgrade(db, {
      kind: settings.kind,
      backups: backupFolder(settings),
      onUpgrade,
      ...(upTo === undefined ? {} : { upTo }),
    });
  const {
    db,
    close,
    mayLackLast = false,
  } = await withExplainedFailure(() =>
    settings.kind === 'sqlite'
      ? openFile(settings.file, bringUp, upTo === undefined)
      : openServer(settings.url, bringUp),
  );
  return {
    kind: settings.kind,
    mayLackLast,
    read: (work) => withExplainedFailure(() => work(db)),
    write: (work) => withExplainedFailure(() => inTransaction(db, work)),
    close,
  };
}

type Opened = { db: Kysely<Database>; close: () => Promise<void>; mayLackLast?: boolean };
type BringUp = (db: Kysely<Database>) => Promise<void>;

/** @param isNewest whether it then is a database of this version, with a place for notices to owners */
async function openFile(file: string, bringUp: BringUp, isNewest: boolean): Promise<Opened> {
  const { dialect, release, mayLackLast } = await openSqlite(file).catch((error: unknown) => {
    throw placed(explainFailure(error), { file });
  });
  const db = new Kysely<Database>({ dialect });
  const close = async () => {
    try {
      await db.destroy();
    } finally {
      release();
    }
  };
  try {
    await refuseDamaged(db, file);
    await bringUp(db);
    if (mayLackLast && isNewest) await tellLastMissing(db);
  } catch (error) {
    // A damaged file may not even close properly; the reason it was not opened is what counts.
    await close().catch(() => undefined);
    throw error;
  }
  return { db, close, mayLackLast };
}

/** Recorded before anything else, because the next check will find the file complete. */
async function tellLastMissing(db: Kysely<Database>): Promise<void> {
  const atMs = Date.now();
  await inTransaction(db, async (transaction) => {
    const cause = lastChangeCause;
    const incident = {
      code: 'last-change',
      cause,
      times: 1,
      firstAtMs: atMs,
      lastAtMs: atMs,
      requestId: null,
    } as const;
    await noteIncidents(transaction, [incident], atMs);
    await clearLastChangeMark(transaction);
  });
}

/** An upgrade may take its time; a service's queries may not. */
async function openServer(url: string, bringUp: BringUp): Promise<Opened> {
  const { openPostgres } = await postgres();
  const patient = new Kysely<Database>({ dialect: openPostgres(url, 'any time') });
  try {
    await bringUp(patient);
  } finally {
    await patient.destroy();
  }
  const db = new Kysely<Database>({ dialect: openPostgres(url, 'in time') });
  return { db, close: () => db.destroy() };
}

const backupFolder = (settings: StoreSettings) =>
  settings.kind === 'sqlite'
    ? (settings.backups ?? join(dirname(settings.file), 'backups'))
    : settings.backups;

/** Its driver is loaded only when it is used. */
const postgres = () => import('./postgres.js');

/** On some failures SQLite has already rolled back; the error of a second rollback must not hide the first. */
async function inTransaction<Result>(
  db: Kysely<Database>,
  work: (db: Db) => Promise<Result>,
): Promise<Result> {
  let failure: { error: unknown } | undefined;
  try {
    return await db.transaction().execute(async (transaction) => {
      try {
        return await work(transaction);
      } catch (error) {
        failure = { error };
        throw error;
      }
    });
  } catch (error) {
    throw failure === undefined ? error : failure.error;
  }
}

/**
 * Runs an operation on one consistent view of the database, even while a service holds it. Nothing is changed.
 *
 * @throws StillcountError kind `work` if there is no database or it fails
 */
export async function readSnapshot<Result>(
  settings: StoreSettings,
  work: (db: Db) => Promise<Result>,
): Promise<Result> {
  return withExplainedFailure(async () => {
    const dialect =
      settings.kind === 'sqlite'
        ? viewSqlite(settings.file)
        : (await postgres()).openPostgres(settings.url, 'any time');
    const db = new Kysely<Database>({ dialect });
    try {
      const transaction = db.transaction();
      // In SQLite a transaction sees one state from its first read on.
      return await (settings.kind === 'sqlite'
        ? transaction.execute(work)
        : transaction.setIsolationLevel('repeatable read').execute(work));
    } finally {
      await db.destroy();
    }
  });
}

async function withExplainedFailure<Result>(work: () => Promise<Result>): Promise<Result> {
  try {
    return await work();
  } catch (error) {
    throw explainFailure(error);
  }
}
