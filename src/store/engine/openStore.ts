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
  /** `backups` is the folder where the database is kept as it was before an upgrade: beside the file when left out. */
  { kind: 'sqlite'; file: string; backups?: string } | { kind: 'postgres'; url: string; backups: string };

export type { Db } from './db.js';

/** The one place of everything that is kept. */
export interface Store {
  readonly kind: DatabaseKind;
  /**
   * Whether it was found at this opening that the last change before a service was killed may be missing. The owners'
   * first page knows it by then.
   */
  readonly mayLackLast?: boolean;
  /**
   * Runs work that only reads.
   *
   * @throws StillcountError kind `work` in plain words when the database fails; the same store works again once
   *   the fault is gone.
   */
  read<Result>(work: (db: Db) => Promise<Result>): Promise<Result>;
  /** Runs work in one transaction: all of it is kept, or nothing. Errors as for `read`. */
  write<Result>(work: (db: Db) => Promise<Result>): Promise<Result>;
  close(): Promise<void>;
}

/**
 * Opens the database, making or updating its tables first.
 *
 * @param upTo the step of the schema to stop at, for putting an earlier backup in; the newest one when left out
 * @param onUpgrade told before a database of an earlier version is backed up and brought up to date, and again with
 *   the backup when it is
 * @throws StillcountError kind `work` when it cannot be reached, is held by another process, was written by a newer
 *   version of this project, is damaged, cannot be backed up or upgraded, or has another shape than it should; kind
 *   `input` when it has gone beyond `upTo`
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

/** @param isNewest whether it is then a database of this version, and has a place for what the owners are told */
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
    // A damaged file may not even be closed well; why it was not opened is what counts.
    await close().catch(() => undefined);
    throw error;
  }
  return { db, close, mayLackLast };
}

/** Written down before anything else is: whoever looks at the file next finds it whole. */
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

/** What an upgrade does may take its time; what a service asks may not. */
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

/** Its driver is loaded only where it is used. */
const postgres = () => import('./postgres.js');

/** On some failures SQLite has rolled back by itself; the second rollback's complaint must not hide the first error. */
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
 * Runs work on one unchanging view of the database, also while a service holds it. Nothing is changed.
 *
 * @throws StillcountError kind `work` when there is no database or it fails
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
      // In SQLite a transaction sees one state from its first reading on.
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
