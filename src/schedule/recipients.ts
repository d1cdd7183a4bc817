import type { ReminderKind } from './reminders.js';

/** What a patient has agreed to about one caregiver. */
export type CaregiverAgreement = { isReminded: boolean; toldNotBegun: boolean };

/**
 * Whether someone gets a kind of reminder. A patient is reminded where they agreed to it. A
 * caregiver is reminded, and told that a session was not begun, each where the patient agreed to it: some want only
 * the one, some only the other.
 */
export function isFor(
  kind: ReminderKind,
  recipient: { isPatient: true; isReminded: boolean } | ({ isPatient: false } & CaregiverAgreement),
): boolean {
  if (recipient.isPatient) return kind === 'due' && recipient.isReminded;
  return kind === 'due' ? recipient.isReminded : recipient.toldNotBegun;
}
