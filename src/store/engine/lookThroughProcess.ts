import { Kysely } from 'kysely';
import type { Database } from '../schema/schema.js';
import { findDamage } from './damage.js';
import { viewSqlite } from './sqlite.js';

/** Entry point of a process that checks one database file, reports the result to its parent, and exits. */
process.on('disconnect', () => process.exit());
// The parent decides what a signal to its whole group means.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => undefined);

const db = new Kysely<Database>({ dialect: viewSqlite(process.argv[2] ?? '') });
const found = await findDamage(db);
await db.destroy();
process.send?.({ found }, () => process.disconnect());
