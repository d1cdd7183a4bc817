import type { Db } from '../engine/openStore.js';
import type { Clinician } from './clinicians.js';

export type AuditEntry = {
  clinicId: string;
  patientId: string | null;
  clinicianId: string | null;
  /** The action, as a key that pages turn into words. */
  action: string;
  /** The id of what was viewed or changed. */
  subject: string;
  /** The key of the program that did it. */
  accessKeyId?: string | null;
  atMs: number;
};
export type ShownEntry = AuditEntry & {
  sequence: number;
  clinicianName: string | null;
  patientName: string | null;
  accessKeyName: string | null;
};

const pageSize = 100;

/** Adds one entry to the activity log. Entries are never removed. */
export async function addAuditEntry(db: Db, entry: AuditEntry): Promise<void> {
  await db.insertInto('auditEntry').values(entry).execute();
}

/** Who did something, by herself or through a program with an access key, and when. */
type Author = { clinician: Pick<Clinician, 'id' | 'clinicId'>; accessKeyId: string | null; nowMs: number };

/** Adds what an actor did to the activity log, in the transaction that does it. */
export function auditActor(
  db: Db,
  { clinician, accessKeyId, nowMs }: Author,
  what: Pick<AuditEntry, 'patientId' | 'subject' | 'action'>,
): Promise<void> {
  const { clinicId, id: clinicianId } = clinician;
  return addAuditEntry(db, { clinicId, clinicianId, accessKeyId, atMs: nowMs, ...what });
}

/** Whether a member has opened a patient's record, or one of the patient's programs, since a given time. */
export async function hasOpened(
  db: Db,
  { clinicianId, patientId, sinceMs }: { clinicianId: string; patientId: string; sinceMs: number },
): Promise<boolean> {
  const found = await db
    .selectFrom('auditEntry')
    .select('sequence')
    .where('patientId', '=', patientId)
    .where('clinicianId', '=', clinicianId)
    .where('action', 'in', ['patient-read', 'prescription-read'])
    .where('atMs', '>=', sinceMs)
    .limit(1)
    .executeTakeFirst();
  return found !== undefined;
}

/**
 * The activity log of a clinic, newest first, a hundred entries at a time.
 *
 * @param filter.before continue before the entry with this number
 */
export async function auditTrail(
  db: Db,
  clinicId: string,
  filter: { patientId?: string; before?: number },
): Promise<{ entries: ShownEntry[]; hasMore: boolean }> {
  let query = db
    .selectFrom('auditEntry')
    .leftJoin('clinician', 'clinician.id', 'auditEntry.clinicianId')
    .leftJoin('patient', 'patient.id', 'auditEntry.patientId')
    .leftJoin('accessKey', 'accessKey.id', 'auditEntry.accessKeyId')
    .selectAll('auditEntry')
    .select([
      'clinician.name as clinicianName',
      'patient.name as patientName',
      'accessKey.name as accessKeyName',
    ])
    .where('auditEntry.clinicId', '=', clinicId);
  if (filter.patientId !== undefined) query = query.where('auditEntry.patientId', '=', filter.patientId);
  if (filter.before !== undefined) query = query.where('auditEntry.sequence', '<', filter.before);
  const found = await query
    .orderBy('auditEntry.sequence', 'desc')
    .limit(pageSize + 1)
    .execute();
  return { entries: found.slice(0, pageSize), hasMore: found.length > pageSize };
}
