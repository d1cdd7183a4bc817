/** The tables of reminders; the rules of {@link Database} hold. */
export interface ReminderTables {
  reminderRules: ReminderRulesTable;
  careBreak: CareBreakTable;
  contact: ContactTable;
  reminderWatch: ReminderWatchTable;
  delivery: DeliveryTable;
  serviceSecret: ServiceSecretTable;
}

/** What was agreed on about one patient's reminders; the usual rules hold for those without a row. */
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

/** Days on which nothing is due. A stay in hospital has no last day: a clinician ends it when the person may go on. */
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
  /** Taken back, or ended early: then `untilDay` says what is left of it, and it is not asked for when this is set. */
  removedAtMs: number | null;
}

export const channelNames = ['mail', 'push', 'text', 'terminal'] as const;
export type ChannelName = (typeof channelNames)[number];

export type ContactEnd = 'replaced' | 'unsubscribed' | 'removed' | 'gone' | 'bounced';

/** One way to reach someone. One of the three owners is given. */
interface ContactTable {
  id: string;
  clinicId: string;
  patientId: string | null;
  caregiverPersonId: string | null;
  clinicianId: string | null;
  channel: ChannelName;
  /** JSON, as the channel reads it: an email address, a phone number, a browser's subscription. */
  address: string;
  /** SHA-256 of the address, so that the same one is found again. */
  addressHash: string;
  /** Of the token with which messages are ended by whoever gets them. */
  unsubscribeHash: string;
  createdAtMs: number;
  endedAtMs: number | null;
  endedWhy: ContactEnd | null;
}

/** One row for each patient: when their reminders are planned next, and what was seen then. */
interface ReminderWatchTable {
  patientId: string;
  clinicId: string;
  /** 0 for as soon as possible. */
  planAtMs: number;
  /** Reminders were planned up to here; null before the first time. */
  plannedUntilMs: number | null;
  /** The next session that is to be made ahead, and the last for which that was done. */
  nextDueAtMs: number | null;
  madeForMs: number | null;
  /** Since when nothing was begun, once that is too long. */
  quietSinceMs: number | null;
  /** Since when a program waits to be looked at again. */
  reviewSinceMs: number | null;
}

export const deliveryKinds = ['due', 'not-begun', 'warning', 'note', 'digest', 'account'] as const;
export type DeliveryKind = (typeof deliveryKinds)[number];
/** `missed`: wanted, but its time was over. `dropped`: no longer wanted. */
export const deliveryStates = ['waiting', 'sending', 'sent', 'failed', 'missed', 'dropped'] as const;
export type DeliveryState = (typeof deliveryStates)[number];

/** One message to one contact. Claimed with a lease, recorded once. */
interface DeliveryTable {
  id: string;
  /** What it is about and whom it goes to: nothing is planned twice. */
  key: string;
  clinicId: string;
  /** Null for what is about no single patient. */
  patientId: string | null;
  kind: DeliveryKind;
  prescriptionId: string | null;
  /** Day in the patient's zone and which session of it: 2026-11-25#1. */
  slot: string | null;
  /** When the session is due, as it was planned. */
  slotDueAtMs: number | null;
  /** The id of the warning, the first day of the week, or what happened to an account; null for a session. */
  subject: string | null;
  contactId: string;
  /** The caregiver as one of this patient; null for a patient or a clinician. */
  caregiverId: string | null;
  state: DeliveryState;
  /** When it is for. */
  forAtMs: number;
  /** When it is looked at next. */
  nextAtMs: number;
  goodUntilMs: number;
  attempts: number;
  leaseOwner: string | null;
  leaseUntilMs: number | null;
  /** Why it was not sent, or not yet: a word of the schedule or of its channel. */
  why: string | null;
  isLate: number | null;
  /** When it was sent, or given up. */
  settledAtMs: number | null;
  /** When a clinician has seen that it failed. */
  seenAtMs: number | null;
}

/** Secrets that the service makes for itself on its first start. */
interface ServiceSecretTable {
  name: string;
  value: string;
  createdAtMs: number;
}
