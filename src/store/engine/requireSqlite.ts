import { createRequire } from 'node:module';
import type Sqlite from 'better-sqlite3';
import { workError } from '../../errors/stillcountError.js';

/** The constructor that opens a database. */
export type SqliteModule = typeof Sqlite;

/**
 * The package of the database module for a version of Node.js. Its version 13 comes prebuilt and runs on Node.js 22 and
 * newer; on 20 it crashes the process. Its version 12 is built for one version of Node.js, and from Node.js 24.19 on
 * crashes the process on cleanup ("Assertion failed: (env) != nullptr"; seen with 24.21.0 and 12.11.1).
 */
export function sqlitePackage(nodeVersion: string): 'better-sqlite3' | 'better-sqlite3-ready' {
  return Number.parseInt(nodeVersion, 10) < 22 ? 'better-sqlite3' : 'better-sqlite3-ready';
}

/**
 * Loads SQLite and tests its compiled part, which is built for one kind of machine and, on Node.js 20, for one version.
 *
 * @throws StillcountError kind `work` that says how to get it, if it is missing or was built for another version
 */
export function requireSqlite(): SqliteModule {
  const name = sqlitePackage(process.versions.node);
  try {
    const module: SqliteModule = createRequire(import.meta.url)(name);
    new module(':memory:').close();
    return module;
  } catch (error) {
    throw workError(
      {
        message: 'The database module (SQLite) is missing for this version of Node.js.',
        found: `Node.js ${process.versions.node} on ${process.platform} ${process.arch}, package ${name}`,
        hint:
          'install Stillcount again; on Node.js 20 that needs python3, make and a C++ compiler, on 22 and newer nothing. ' +
          'Or set DATABASE_URL to a PostgreSQL server',
      },
      error,
    );
  }
}
