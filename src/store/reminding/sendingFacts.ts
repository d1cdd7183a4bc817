import type { ConsentKind } from '../schema/peopleSchema.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';
import type { ChannelName } from '../schema/reminderSchema.js';

/** Where a message would go. */
export type SendingContact = {
  id: string;
  channel: ChannelName;
  address: string;
  isOpen: boolean;
  /** Also true where only reminders were ended. */
  takesWarnings: boolean;
  /** Of a clinician whose account has not ended, also where the contact has. */
  hasAccount: boolean;
  patientId: string | null;
  caregiverPersonId: string | null;
  clinicianId: string | null;
};

/** `content` is null for what is damaged. */
type HeldVersion = { content: string | null; signedAtMs: number };
export type ProgramThen = { state: PrescriptionState; versions: HeldVersion[] };

/** Everything that says whether some messages are sent at this moment, read at once for many of them. */
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
  /** By patient; those without agreed rules are left out. */
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
  /** By prescription; its versions that held since the beginning of what is read, newest first. */
  programs: ReadonlyMap<string, ProgramThen>;
  /** Programs that cannot be played as they were signed, or are damaged, each with when that was found. */
  notPlayed: ReadonlyMap<string, number>;
  /** What was given: patient, kind, caregiver or nothing, with spaces between. */
  consents: ReadonlySet<string>;
  /** Caregivers who still care for their patient. */
  caregivers: ReadonlySet<string>;
  /** Patients with a warning sign that no one has answered. */
  heldPatients: ReadonlySet<string>;
  /** By prescription: slots of the last days that were begun, and whether they were finished. */
  heard: ReadonlyMap<string, ReadonlyMap<string, 'done' | 'begun'>>;
  /** When the last session of a prescription was finished. */
  lastDoneAtMs: ReadonlyMap<string, number>;
  /** Prescription and slot, with a space between. */
  putOff: ReadonlySet<string>;
  /** Patient and day, with a space between: put off because of pain or illness, which holds for the whole day. */
  unwellDays: ReadonlySet<string>;
  /** What became of patients' own reminders: prescription and slot, with a space between. */
  ownReminders: ReadonlyMap<string, { isOpen: boolean; sentAtMs: number | null }>;
  /** The link that someone has, by patient or caregiver. */
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

/** How a consent is named in {@link SendingFacts}. */
export function consentKey(patientId: string, kind: ConsentKind, caregiverId: string | null): string {
  return `${patientId} ${kind} ${caregiverId ?? ''}`;
}
