import type { ReminderKind } from './reminders.js';

/** What a patient has agreed to about one caregiver. */
export type CaregiverAgreement = { isReminded: boolean; seesDone: boolean };

/**
 * Whether somebody gets a kind of reminder (rules R3 and R5). A patient is reminded where they agreed to it. A
 * caregiver is reminded where the patient agreed to that; that a session was not begun is told only to those who may
 * also see what was done.
 */
export function isFor(
  kind: ReminderKind,
  recipient: { isPatient: true; isReminded: boolean } | ({ isPatient: false } & CaregiverAgreement),
): boolean {
  if (!recipient.isReminded) return false;
  if (recipient.isPatient) return kind === 'due';
  return kind === 'due' || recipient.seesDone;
}
