import { addAuditEntry } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import type { Listener } from './listener.js';

/**
 * Adds what a listener did to the activity log, in the transaction that does it.
 *
 * @param what.subject the id of what was changed; defaults to the listener's link
 */
export async function auditListener(
  db: Db,
  { clinicId, linkId, patients }: Listener,
  { action, subject = linkId, atMs }: { action: string; subject?: string; atMs: number },
): Promise<void> {
  const patientId = patients.length === 1 ? (patients[0]?.patientId ?? null) : null;
  await addAuditEntry(db, { clinicId, patientId, clinicianId: null, action, subject, atMs });
}
