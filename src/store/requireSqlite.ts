import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import Sqlite from 'better-sqlite3';
import { z } from 'zod';
import { workError } from '../errors/stillcountError.js';
import { endsAtRandom } from './nodeForSqlite.js';

const packageSchema = z.object({ version: z.string() });

/**
 * Tries the compiled part of SQLite, which is made for one kind of machine and one version of Node.js.
 *
 * @throws StillcountError kind `work` that says how to build it, when it is missing or was built for another version;
 *   or which Node.js to use, when this one and the module do not go together
 */
export function requireSqlite(): void {
  const require = createRequire(import.meta.url);
  const { version } = packageSchema.parse(require('better-sqlite3/package.json'));
  if (endsAtRandom(process.versions.node, version)) {
    throw workError({
      message: 'The database module (SQLite) does not go together with this version of Node.js.',
      found: `better-sqlite3 ${version}, which Node.js ${process.versions.node} ends at random`,
      hint: 'use Node.js 22, or set DATABASE_URL to a PostgreSQL server',
    });
  }
  try {
    new Sqlite(':memory:').close();
  } catch (error) {
    const folder = resolve(require.resolve('better-sqlite3/package.json'), '..', '..', '..');
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
