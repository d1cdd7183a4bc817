import { type Dialect, PostgresDialect } from 'kysely';
import pg from 'pg';

/** PostgreSQL's own number of the type bigint, which its driver gives as text unless told otherwise. */
const bigintType = 20;
const mostConnections = 10;
const connectTimeoutMs = 5_000;

/** Opens a pool of connections; one that breaks is replaced when it is next needed. */
export function openPostgres(url: string): { dialect: Dialect; release: () => void } {
  // Instants and counts stay far below 2^53.
  const types = {
    getTypeParser: (id: number, format?: 'text' | 'binary') =>
      id === bigintType ? Number : pg.types.getTypeParser(id, format),
  };
  const pool = new pg.Pool({
    connectionString: url,
    max: mostConnections,
    connectionTimeoutMillis: connectTimeoutMs,
    types,
  });
  // A connection that breaks is told here, an idle one by the pool and one between two queries by itself; unheard it
  // would end the process. Whatever was under way fails by its own query.
  pool.on('error', () => undefined);
  pool.on('connect', (client) => client.on('error', () => undefined));
  return { dialect: new PostgresDialect({ pool }), release: () => undefined };
}
