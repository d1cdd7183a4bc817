import type { Kysely, Transaction } from 'kysely';
import type { Database } from '../schema/schema.js';

/** What functions of this room read and write through: the database itself or a running transaction. */
export type Db = Kysely<Database> | Transaction<Database>;
