import type { Db } from '../../store/engine/openStore.js';
import { type Consent, consentsOf } from '../../store/people/caregivers.js';
import type { Listener } from './listener.js';

/**
 * Rule PERM-7: whether a patient agrees to something about one caregiver, and has not taken it back; about themselves
 * for null.
 */
export async function hasAgreed(
  db: Db,
  patientId: string,
  caregiverId: string | null,
  kind: Consent['kind'],
): Promise<boolean> {
  const consents = await consentsOf(db, patientId);
  return consents.some(
    (consent) => consent.kind === kind && consent.caregiverId === caregiverId && consent.isGiven,
  );
}

/**
 * Whether whoever a link is for may be reminded: the patient where they agreed to it themselves, a caregiver where
 * somebody whom they care for did.
 */
export async function mayBeReminded(db: Db, { patients }: Listener): Promise<boolean> {
  for (const { patientId, caregiverId } of patients) {
    const kind = caregiverId === null ? 'reminders' : 'caregiver-reminded';
    if (await hasAgreed(db, patientId, caregiverId, kind)) return true;
  }
  return false;
}
