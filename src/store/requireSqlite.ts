import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import Sqlite from 'better-sqlite3';
import { workError } from '../errors/stillcountError.js';

/**
 * Tries the compiled part of SQLite, which is made for one kind of machine and one version of Node.js.
 *
 * @throws StillcountError kind `work` that says how to build it, when it is missing or was built for another version
 */
export function requireSqlite(): void {
  try {
    new Sqlite(':memory:').close();
  } catch (error) {
    const described = createRequire(import.meta.url).resolve('better-sqlite3/package.json');
    const folder = resolve(described, '..', '..', '..');
    throw workError(
      {
        message: 'The database module (SQLite) is not built for this version of Node.js.',
        found: `Node.js ${process.versions.node}, in ${folder}`,
        hint:
          'there, run "npm rebuild better-sqlite3"; it needs python3, make and a C++ compiler. ' +
          'Without them, set DATABASE_URL to a PostgreSQL server',
      },
      error,
    );
  }
}
