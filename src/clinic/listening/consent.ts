import type { Db } from '../../store/engine/openStore.js';
import { type Consent, consentsOf } from '../../store/people/caregivers.js';
import type { Listener } from './listener.js';

/**
 * Rule PERM-7: whether a patient has given, and not withdrawn, a consent about one caregiver; about themselves if
 * `caregiverId` is null.
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

/** Whether a patient agreed to reminders; with `caregiverId`, to reminders for this caregiver. */
export function hasAgreedToReminders(consents: readonly Consent[], caregiverId: string | null): boolean {
  return hasAgreed(consents, caregiverId, caregiverId === null ? 'reminders' : 'caregiver-reminded');
}

/**
 * Whether the owner of a link may be reminded: the patient if they agreed, a caregiver if a patient they care for
 * agreed.
 */
export async function mayBeReminded(db: Db, { patients }: Listener): Promise<boolean> {
  for (const { patientId, caregiverId } of patients) {
    if (hasAgreedToReminders(await consentsOf(db, patientId), caregiverId)) return true;
  }
  return false;
}
