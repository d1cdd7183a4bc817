import type { ReminderKind } from './reminders.js';

/** What the patient has agreed to for one caregiver. */
export type CaregiverAgreement = { isReminded: boolean; toldNotBegun: boolean };

/**
 * Returns whether someone gets a kind of reminder. Patients get reminders if they agreed to them. Caregivers get
 * reminders, and notices that a session was not started, each only if the patient agreed to it, because some patients
 * want only one of the two.
 */
export function isFor(
  kind: ReminderKind,
  recipient: { isPatient: true; isReminded: boolean } | ({ isPatient: false } & CaregiverAgreement),
): boolean {
  if (recipient.isPatient) return kind === 'due' && recipient.isReminded;
  return kind === 'due' ? recipient.isReminded : recipient.toldNotBegun;
}
