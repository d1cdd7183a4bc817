/** The tables of reminders; the rules of {@link Database} apply. */
export interface ReminderTables {
  reminderRules: ReminderRulesTable;
  careBreak: CareBreakTable;
  contact: ContactTable;
  reminderWatch: ReminderWatchTable;
  delivery: DeliveryTable;
  serviceSecret: ServiceSecretTable;
}

/** One patient's reminder settings; defaults apply without a row. */
interface ReminderRulesTable {
  patientId: string;
  quietFrom: string;
  quietUntil: string;
  graceMinutes: number;
  /** Null for never. */
  caregiverAfterMinutes: number | null;
  quietAfterDays: number;
}

export const breakKinds = ['holiday', 'hospital', 'illness', 'other'] as const;
export type BreakKind = (typeof breakKinds)[number];

/** Days on which nothing is due. A hospital stay has no last day: a clinician ends it when the patient may continue. */
interface CareBreakTable {
  id: string;
  patientId: string;
  kind: BreakKind;
  /** Days in the patient's zone, both inclusive. */
  fromDay: string;
  untilDay: string | null;
  note: string;
  clinicianId: string;
  createdAtMs: number;
  /** Set if it was removed or ended early: then `untilDay` says what is left of it. */
  removedAtMs: number | null;
}

export const channelNames = ['mail', 'push', 'text', 'terminal'] as const;
export type ChannelName = (typeof channelNames)[number];

export type ContactEnd = 'replaced' | 'unsubscribed' | 'removed' | 'gone' | 'bounced';

/** One way to reach someone. One of the three owners is set. */
interface ContactTable {
  id: string;
  clinicId: string;
  patientId: string | null;
  caregiverPersonId: string | null;
  clinicianId: string | null;
  channel: ChannelName;
  /** JSON, as the channel reads it: an email address, a phone number, a browser's subscription. */
  address: string;
  /** SHA-256 of the address, to find an existing one. */
  addressHash: string;
  /** The hash of the unsubscribe token. */
  unsubscribeHash: string;
  createdAtMs: number;
  endedAtMs: number | null;
  endedWhy: ContactEnd | null;
}

/** One row per patient: when their reminders are next planned, and the results of the last planning. */
interface ReminderWatchTable {
  patientId: string;
  clinicId: string;
  /** 0 for as soon as possible. */
  planAtMs: number;
  /** Reminders were planned up to here; null before the first time. */
  plannedUntilMs: number | null;
  /** The next session to be rendered ahead, and the last one that was. */
  nextDueAtMs: number | null;
  madeForMs: number | null;
  /** Since when nothing was started, once that is too long. */
  quietSinceMs: number | null;
  /** Since when a program has been due for review. */
  reviewSinceMs: number | null;
}

export const deliveryKinds = ['due', 'not-begun', 'warning', 'note', 'digest', 'account'] as const;
export type DeliveryKind = (typeof deliveryKinds)[number];
/** `missed`: wanted, but its time had passed. `dropped`: no longer wanted. */
export const deliveryStates = ['waiting', 'sending', 'sent', 'failed', 'missed', 'dropped'] as const;
export type DeliveryState = (typeof deliveryStates)[number];

/** One message to one contact. Claimed with a lease, recorded once. */
interface DeliveryTable {
  id: string;
  /** Its subject and recipient: nothing is planned twice. */
  key: string;
  clinicId: string;
  /** Null for what concerns no single patient. */
  patientId: string | null;
  kind: DeliveryKind;
  prescriptionId: string | null;
  /** The day in the patient's zone, and the session's number on it: 2026-11-25#1. */
  slot: string | null;
  /** When the session is due, as planned. */
  slotDueAtMs: number | null;
  /** The id of the warning, the first day of the week, or the account event; null for a session. */
  subject: string | null;
  contactId: string;
  /** The caregiver's row for this patient; null for a patient or a clinician. */
  caregiverId: string | null;
  state: DeliveryState;
  /** The time it is for. */
  forAtMs: number;
  /** When it is next examined. */
  nextAtMs: number;
  goodUntilMs: number;
  attempts: number;
  leaseOwner: string | null;
  leaseUntilMs: number | null;
  /** Why it was not sent, or not yet: a code of the schedule or of its channel. */
  why: string | null;
  isLate: number | null;
  /** When it was sent, or given up. */
  settledAtMs: number | null;
  /** When a clinician has seen that it failed. */
  seenAtMs: number | null;
}

/** Secrets that the service generates on its first start. */
interface ServiceSecretTable {
  name: string;
  value: string;
  createdAtMs: number;
}
