import type { Kysely, Transaction } from 'kysely';
import type { Database } from '../schema/schema.js';

/** The handle that functions of this folder read and write through: the database itself or a running transaction. */
export type Db = Kysely<Database> | Transaction<Database>;
