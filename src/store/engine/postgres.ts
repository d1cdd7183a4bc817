import { type Dialect, PostgresDialect } from 'kysely';
import pg from 'pg';

/** PostgreSQL's number for the type bigint, which its driver returns as text by default. */
const bigintType = 20;
const mostConnections = 10;
const connectTimeoutMs = 5_000;
/** No statement of a service comes near it: one that takes longer hangs, and would keep its connection forever. */
const statementMs = 60_000;
/** For a server that disappears without a word, and cannot end the statement itself. */
const answerMs = statementMs + 10_000;

/**
 * Opens a connection pool; a broken connection is replaced when it is next needed.
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
  // A broken connection is reported here, an idle one by the pool and one between two queries by itself; unhandled, it
  // would end the process. Work in progress fails through its own query.
  pool.on('error', () => undefined);
  pool.on('connect', (client) => client.on('error', () => undefined));
  return new PostgresDialect({ pool });
}
