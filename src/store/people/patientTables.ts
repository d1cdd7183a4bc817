import { type RawBuilder, sql } from 'kysely';
import type { Database } from '../schema/schema.js';

/** Tables whose rows belong to a patient through a row of another table: the column, and that table. */
const through = {
  prescriptionVersion: ['prescriptionId', 'prescription'],
  prescriptionState: ['prescriptionId', 'prescription'],
  warningAnswer: ['warningId', 'warning'],
  measureWithdrawn: ['measureTakenId', 'measureTaken'],
} as const satisfies Partial<Record<keyof Database, readonly [string, keyof Database]>>;

/** All tables with rows of one patient, in an order in which they can be deleted: referring tables first. */
export const patientTables = [
  'attention',
  'adviceWatch',
  'reminderWatch',
  'delivery',
  'draft',
  'reminderRules',
  'careBreak',
  'adviceAnswer',
  'progressNote',
  'measureWithdrawn',
  'measureTaken',
  'ownMeasure',
  'listened',
  'listeningStep',
  'notToday',
  'noteRead',
  'note',
  'checkIn',
  'warningAnswer',
  'warning',
  'feedDelivery',
  'notPlayable',
  'prescriptionState',
  'prescriptionVersion',
  'prescription',
  'screening',
  'consent',
  'listeningToken',
  'listeningLink',
  'contact',
  'caregiver',
  'patient',
] as const satisfies readonly (keyof Database)[];
export type PatientTable = (typeof patientTables)[number];

/**
 * The rows of a table that concern one patient alone. Links and addresses of caregivers count if they care for no one
 * else, and never did: otherwise they also belong to other patients.
 */
export function isOfPatient(table: PatientTable, patientId: string): RawBuilder<boolean> {
  switch (table) {
    case 'patient':
      return sql`"id" = ${patientId}`;
    case 'listeningLink':
    case 'contact':
      return sql`("patientId" = ${patientId} or "caregiverPersonId" in (${onlyTheirs(patientId)}))`;
    case 'listeningToken':
      return sql`"linkId" in (select "id" from "listeningLink" where ${isOfPatient('listeningLink', patientId)})`;
    case 'prescriptionVersion':
    case 'prescriptionState':
    case 'warningAnswer':
    case 'measureWithdrawn': {
      const [column, parent] = through[table];
      return sql`${sql.ref(column)} in (select "id" from ${sql.table(parent)} where "patientId" = ${patientId})`;
    }
    default:
      return sql`"patientId" = ${patientId}`;
  }
}

/** The caregivers of one patient, as people, who are in no one else's record. */
function onlyTheirs(patientId: string): RawBuilder<string> {
  return sql`select "mine"."personId" from "caregiver" "mine" where "mine"."patientId" = ${patientId}
    and not exists (select 1 from "caregiver" "others" where "others"."personId" = "mine"."personId"
      and "others"."patientId" <> ${patientId})`;
}
