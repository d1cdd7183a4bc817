import { addAuditEntry } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import type { Listener } from './listener.js';

/**
 * Puts what a listener did on the trail, in the transaction that does it.
 *
 * @param what.subject the id of what was changed; the listener's link when left out
 */
export async function auditListener(
  db: Db,
  { clinicId, linkId, patients }: Listener,
  { action, subject = linkId, atMs }: { action: string; subject?: string; atMs: number },
): Promise<void> {
  const patientId = patients.length === 1 ? (patients[0]?.patientId ?? null) : null;
  await addAuditEntry(db, { clinicId, patientId, clinicianId: null, action, subject, atMs });
}
