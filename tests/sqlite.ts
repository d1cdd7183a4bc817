import { requireSqlite } from '../src/store/engine/requireSqlite.js';

/** Opens a database file beside the service, whichever version of Node.js the tests run on. */
export const Sqlite = requireSqlite();
