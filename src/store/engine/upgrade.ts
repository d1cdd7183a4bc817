import { mkdirSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { type Kysely, type Migration, Migrator, sql } from 'kysely';
import { inputError, StillcountError, workError } from '../../errors/stillcountError.js';
import { cannotWrite } from '../../files/fileProblem.js';
import { writeWhole } from '../../files/wholeFile.js';
import { expectedSchema } from '../schema/expectedSchema.js';
import { type DatabaseKind, migrationsFor } from '../schema/migrations.js';
import type { Database } from '../schema/schema.js';
import { type SchemaDifference, schemaDifferences, schemaOf } from '../schema/schemaDifferences.js';
import { backupDigest, backupLines, checkBackup } from './backupFile.js';
import { explainFailure } from './failures.js';

export type Upgrade = {
  kind: DatabaseKind;
  /** Where a copy of the database from before an upgrade is kept. */
  backups: string;
  /** The migration to stop at, for restoring an earlier backup; by default, the newest. */
  upTo?: string;
  /**
   * Called before a database of an earlier version is touched, and again, with the file that holds everything as it
   * was, after the upgrade.
   */
  onUpgrade?: (copy?: string) => void;
};

/**
 * Upgrades a database to the structure this version expects. A clinic of an earlier version is backed up first; all
 * migrations, their bookkeeping and a comparison column by column run in one transaction, so that a database that comes
 * out wrong is left as it was.
 *
 * @throws StillcountError kind `work` if it was written by a newer version, cannot be backed up or upgraded, or has an
 *   unexpected structure; kind `input` if it is already beyond `upTo`
 */
export async function upgrade(
  db: Kysely<Database>,
  { kind, backups, upTo, onUpgrade }: Upgrade,
): Promise<void> {
  const steps = await migrationsFor(kind).getMigrations();
  const known = Object.keys(steps);
  const taken = await stepsTaken(db);
  const reached = taken.at(-1);
  const ends = upTo ?? known.at(-1) ?? '';
  if (taken.some((step) => !known.includes(step))) throw await fromNewerVersion(known.at(-1) ?? '', backups);
  if (reached !== undefined && reached > ends) {
    throw inputError({
      message: 'this database is newer than the backup',
      found: reached,
      allowed: `${ends}, or a database without tables`,
    });
  }
  const isEarlier = reached !== undefined && reached !== ends;
  if (isEarlier) onUpgrade?.();
  const backup = isEarlier ? await keepAsItWas(db, { backups, reached }) : null;
  let differences: SchemaDifference[] = [];
  const compare = async (shaped: Kysely<Database>) => {
    if (upTo === undefined) differences = schemaDifferences(expectedSchema, await schemaOf(shaped, kind));
    return differences.length === 0;
  };
  const migrations = { ...steps, [ends]: comparedAfter(steps[ends], compare) };
  const migrator = new Migrator({ db, provider: { getMigrations: async () => migrations } });
  const { error, results = [] } = await migrator.migrateTo(ends);
  if (differences.length > 0) throw otherShape(differences, untouched(reached, backup));
  if (error !== undefined) {
    const failed = results.find(({ status }) => status === 'Error')?.migrationName;
    throw notUpgraded(error, { failed, reached, backup });
  }
  // Nothing was left to do, or another process has done it.
  if (!(await compare(db))) {
    const hint = 'restore a backup into an empty database, or install the version that wrote this one';
    throw otherShape(differences, `nothing was started: ${hint}`);
  }
  if (backup !== null) onUpgrade?.(backup);
}

/** The migrations that a database has taken, in order; none for one without tables. */
async function stepsTaken(db: Kysely<Database>): Promise<string[]> {
  const tables = await db.introspection.getTables({ withInternalKyselyTables: true });
  if (!tables.some(({ name }) => name === 'kysely_migration')) return [];
  const { rows } = await sql<{ name: string }>`select name from kysely_migration order by name`.execute(db);
  return rows.map(({ name }) => name);
}

/**
 * Service managers retry a failing upgrade again and again on the same database: one copy is enough, and many would
 * fill the disk.
 *
 * @returns the file that holds everything, read back from end to end
 */
async function keepAsItWas(
  db: Kysely<Database>,
  { backups, reached }: { backups: string; reached: string },
): Promise<string> {
  const before = await newestCopy({ backups, reached });
  if (before !== null && before.sha256 === (await db.transaction().execute(backupDigest))) return before.file;
  const at = new Date().toISOString().replaceAll(/[-:]|\.\d+/g, '');
  const file = join(backups, `after-${reached}-${at}.backup`);
  try {
    mkdirSync(backups, { recursive: true, mode: 0o700 });
  } catch (error) {
    throw cannotWrite(backups, error);
  }
  await db.transaction().execute((view) => writeWhole(file, backupLines(view)));
  await checkBackup(file);
  return file;
}

/** @returns the newest intact copy made after a migration; null if there is none */
async function newestCopy({
  backups,
  reached,
}: {
  backups: string;
  reached: string;
}): Promise<{ file: string; sha256: string } | null> {
  const names = await readdir(backups).catch(() => []);
  const copies = names.filter((name) => name.startsWith(`after-${reached}-`) && name.endsWith('.backup'));
  for (const name of copies.sort().reverse()) {
    const file = join(backups, name);
    const copy = await checkBackup(file).catch(() => null);
    if (copy !== null) return { file, sha256: copy.sha256 };
  }
  return null;
}

/** The last migration, which fails if the result of all of them is not the expected structure. */
function comparedAfter(
  step: Migration | undefined,
  compare: (db: Kysely<Database>) => Promise<boolean>,
): Migration {
  return {
    async up(db) {
      await step?.up(db);
      if (!(await compare(db))) throw new Error('a different structure than this version expects');
    },
  };
}

function otherShape(differences: readonly SchemaDifference[], hint: string): StillcountError {
  return new StillcountError(
    'work',
    differences.map(({ where, found, wanted }) => ({
      message: 'this database has a different structure than this version expects',
      path: where,
      found,
      allowed: wanted,
      hint,
    })),
  );
}

/** What to do with a database after migrations were rolled back. */
function untouched(reached: string | undefined, backup: string | null): string {
  return reached === undefined
    ? 'nothing was changed: use an empty database; where a clinic was kept here, put its newest backup into one with "stillcount restore FILE"'
    : `nothing was changed: the earlier version works with it as before; a copy of everything is ${backup ?? 'not needed'}`;
}

/** The way back is the copy that the newer version made before its upgrade; it is named if it exists. */
async function fromNewerVersion(newest: string, backups: string): Promise<StillcountError> {
  const copy = await newestCopy({ backups, reached: newest });
  return workError({
    message: 'this database was written by a newer version of Stillcount',
    allowed: `a database up to ${newest}`,
    hint: `install the newer version again${copy === null ? '' : `, or go back to how everything was before its upgrade, kept in ${copy.file}`}; "stillcount guide going-back" says how`,
  });
}

/** A failing migration leaves everything as it was before the first one. */
function notUpgraded(
  error: unknown,
  {
    failed,
    reached,
    backup,
  }: { failed?: string | undefined; reached: string | undefined; backup: string | null },
): StillcountError {
  const cause = explainFailure(error);
  const why = cause instanceof StillcountError ? (cause.problems[0]?.message ?? '') : '';
  return workError(
    {
      message: `the database could not be upgraded${why === '' ? '' : `: ${why}`}`,
      ...(failed === undefined ? {} : { path: failed }),
      hint: untouched(reached, backup),
    },
    error,
  );
}
