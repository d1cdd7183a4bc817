import { type Dialect, PostgresDialect } from 'kysely';
import pg from 'pg';

/** PostgreSQL's own number of the type bigint, which its driver gives as text unless told otherwise. */
const bigintType = 20;
const mostConnections = 10;
const connectTimeoutMs = 5_000;
/** No statement of a service comes near it: what takes longer hangs, and would keep its connection for ever. */
const statementMs = 60_000;
/** For a server that is gone without a word, and cannot end the statement itself. */
const answerMs = statementMs + 10_000;

/**
 * Opens a pool of connections; one that breaks is replaced when it is next needed.
 *
 * @param answers whether a statement may take any time, as in an upgrade or a backup, or is ended after a minute
 */
export function openPostgres(url: string, answers: 'any time' | 'in time'): Dialect {
  // Instants and counts stay far below 2^53.
  const types = {
    getTypeParser: (id: number, format?: 'text' | 'binary') =>
      id === bigintType ? Number : pg.types.getTypeParser(id, format),
  };
  const pool = new pg.Pool({
    connectionString: url,
    max: mostConnections,
    connectionTimeoutMillis: connectTimeoutMs,
    keepAlive: true,
    types,
    ...(answers === 'in time' ? { statement_timeout: statementMs, query_timeout: answerMs } : {}),
  });
  // A connection that breaks is told here, an idle one by the pool and one between two queries by itself; unheard it
  // would end the process. Whatever was under way fails by its own query.
  pool.on('error', () => undefined);
  pool.on('connect', (client) => client.on('error', () => undefined));
  return new PostgresDialect({ pool });
}
