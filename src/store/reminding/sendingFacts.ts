import type { ConsentKind } from '../schema/peopleSchema.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';
import type { ChannelName } from '../schema/reminderSchema.js';

/** Where a message would go. */
export type SendingContact = {
  id: string;
  channel: ChannelName;
  address: string;
  isOpen: boolean;
  /** Also true if only reminders were ended. */
  takesWarnings: boolean;
  /** For a clinician with an open account, even if the contact has ended. */
  hasAccount: boolean;
  patientId: string | null;
  caregiverPersonId: string | null;
  clinicianId: string | null;
};

/** `content` is null if it is damaged. */
type HeldVersion = { content: string | null; signedAtMs: number };
export type ProgramThen = { state: PrescriptionState; versions: HeldVersion[] };

/** Everything that decides whether some messages are sent now, read at once for many of them. */
export type SendingFacts = {
  contacts: ReadonlyMap<string, SendingContact>;
  patients: ReadonlyMap<
    string,
    {
      spokenName: string;
      name: string;
      zone: string;
      clinicName: string;
      phone: string;
      emergencyNumber: string;
    }
  >;
  /** By patient; those with default settings are left out. */
  rules: ReadonlyMap<
    string,
    {
      quietFrom: string;
      quietUntil: string;
      graceMinutes: number;
      caregiverAfterMinutes: number | null;
      quietAfterDays: number;
    }
  >;
  breaks: ReadonlyMap<string, { fromDay: string; untilDay: string | null }[]>;
  /** By prescription; its versions in effect since the start of the period, newest first. */
  programs: ReadonlyMap<string, ProgramThen>;
  /** Programs that cannot be played as signed, or are damaged, each with the time this was found. */
  notPlayed: ReadonlyMap<string, number>;
  /** Consents given: patient, kind, caregiver or nothing, separated by spaces. */
  consents: ReadonlySet<string>;
  /** Caregivers who still care for their patient. */
  caregivers: ReadonlySet<string>;
  /** Patients with an unanswered warning sign. */
  heldPatients: ReadonlySet<string>;
  /** By prescription: slots of the last days that were started, and whether they were finished. */
  heard: ReadonlyMap<string, ReadonlyMap<string, 'done' | 'begun'>>;
  /** When the last session of a prescription was finished. */
  lastDoneAtMs: ReadonlyMap<string, number>;
  /** Prescription and slot, separated by a space. */
  putOff: ReadonlySet<string>;
  /** Patient and day, separated by a space: skipped because of pain or illness, which applies to the whole day. */
  unwellDays: ReadonlySet<string>;
  /** What happened to patients' own reminders: prescription and slot, separated by a space. */
  ownReminders: ReadonlyMap<string, { isOpen: boolean; sentAtMs: number | null }>;
  /** A person's current link, by patient or caregiver. */
  links: ReadonlyMap<string, string>;
};

export const noFacts: SendingFacts = {
  contacts: new Map(),
  patients: new Map(),
  rules: new Map(),
  breaks: new Map(),
  programs: new Map(),
  notPlayed: new Map(),
  consents: new Set(),
  caregivers: new Set(),
  heldPatients: new Set(),
  heard: new Map(),
  lastDoneAtMs: new Map(),
  putOff: new Set(),
  unwellDays: new Set(),
  ownReminders: new Map(),
  links: new Map(),
};

/** The key of a consent in {@link SendingFacts}. */
export function consentKey(patientId: string, kind: ConsentKind, caregiverId: string | null): string {
  return `${patientId} ${kind} ${caregiverId ?? ''}`;
}
