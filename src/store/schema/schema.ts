import type { AccountTables } from './accountsSchema.js';
import type { FollowUpTables } from './followUpSchema.js';
import type { ListeningTables } from './listeningSchema.js';
import type { PeopleTables } from './peopleSchema.js';
import type { PrescribingTables } from './prescribingSchema.js';
import type { ReminderTables } from './reminderSchema.js';

/**
 * The tables. Ids are random UUIDs, instants are epoch milliseconds (`...AtMs`), calendar dates ISO text, and JSON is
 * text that is parsed with a schema on reading: the same in SQLite and PostgreSQL.
 */
export interface Database
  extends AccountTables,
    PeopleTables,
    PrescribingTables,
    ListeningTables,
    ReminderTables,
    FollowUpTables {
  incident: IncidentTable;
}

/** The kinds of failures while a service runs. */
export const incidentCodes = [
  'request-failed',
  'session-not-made',
  'message-not-sent',
  'work-failed',
  'housekeeping-failed',
  'crashed',
  'damaged-record',
  'last-change',
] as const;
export type IncidentCode = (typeof incidentCodes)[number];

/** One kind with one cause, however often it happened. */
export interface IncidentTable {
  code: IncidentCode;
  /** Plain words or a code, without anything about a patient. */
  cause: string;
  times: number;
  firstAtMs: number;
  lastAtMs: number;
  /** The last request or task that met it, to find it in the log; null for what was never logged. */
  requestId: string | null;
}
