import type { Db } from '../../store/engine/openStore.js';
import { type Consent, consentsOf } from '../../store/people/caregivers.js';
import type { Listener } from './listener.js';

/**
 * Rule PERM-7: whether a patient agrees to something about one caregiver, and has not taken it back; about themselves
 * where `caregiverId` is null.
 */
export function hasAgreed(
  consents: readonly Consent[],
  caregiverId: string | null,
  kind: Consent['kind'],
): boolean {
  return consents.some(
    (consent) => consent.kind === kind && consent.caregiverId === caregiverId && consent.isGiven,
  );
}

/** Whether a patient agreed to be reminded; where `caregiverId` is given, to this caregiver being reminded. */
export function hasAgreedToReminders(consents: readonly Consent[], caregiverId: string | null): boolean {
  return hasAgreed(consents, caregiverId, caregiverId === null ? 'reminders' : 'caregiver-reminded');
}

/**
 * Whether whoever a link is for may be reminded: the patient where they agreed to it themselves, a caregiver where
 * somebody whom they care for did.
 */
export async function mayBeReminded(db: Db, { patients }: Listener): Promise<boolean> {
  for (const { patientId, caregiverId } of patients) {
    if (hasAgreedToReminders(await consentsOf(db, patientId), caregiverId)) return true;
  }
  return false;
}
