import { Kysely } from 'kysely';
import type { Database } from '../schema/schema.js';
import { findDamage } from './damage.js';
import { viewSqlite } from './sqlite.js';

/** Entry of a process that looks through one database file, tells its parent what it found, and ends. */
process.on('disconnect', () => process.exit());
// The parent decides what a signal to all of its group means.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => undefined);

const db = new Kysely<Database>({ dialect: viewSqlite(process.argv[2] ?? '') });
const found = await findDamage(db);
await db.destroy();
process.send?.({ found }, () => process.disconnect());
