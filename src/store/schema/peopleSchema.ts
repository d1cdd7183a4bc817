/** The tables of patients and those who care for them; the rules of {@link Database} hold. */
export interface PeopleTables {
  patient: PatientTable;
  screening: ScreeningTable;
  attention: AttentionTable;
  caregiver: CaregiverTable;
  consent: ConsentTable;
  erasure: ErasureTable;
}

interface PatientTable {
  id: string;
  clinicId: string;
  name: string;
  spokenName: string;
  sayAs: string;
  birthYear: number | null;
  language: string;
  zone: string;
  phone: string;
  email: string;
  hearingNotes: string;
  /** JSON list of sentences. */
  goals: string;
  /** The name in lower case without accents, for searching and sorting. */
  searchName: string;
  createdAtMs: number;
  /** Grows with each change; a change names the one it is based on. */
  revision: number;
}

/** Append-only. The newest one of a patient rules. */
interface ScreeningTable {
  id: string;
  patientId: string;
  /** 1 for a patient's first. */
  number: number;
  /** JSON of the screening room's answers. */
  answers: string;
  /** 1 when something in it goes to a doctor before everything else. */
  stops: number;
  clinicianId: string;
  atMs: number;
  /** Of what was recorded; anything else is damage. */
  checksum: string;
}

export const attentionKinds = [
  'warning-sign',
  'urgent-note',
  'stopped',
  'questions-urgent',
  'not-playable',
  'screening-damaged',
  'unread-note',
  'not-delivered',
  'gone-quiet',
  'advice-waits',
  'to-review',
  'to-screen',
  'to-prescribe',
  'questions-new',
  'screened-again',
  'paused',
] as const;

export type AttentionKind = (typeof attentionKinds)[number];

/** Who needs a clinician, and why; worked out again for a patient whenever something about them changes. */
interface AttentionTable {
  clinicId: string;
  patientId: string;
  kind: AttentionKind;
  /** The id of the patient or prescription that it is about. */
  subject: string;
  sinceMs: number;
}

interface CaregiverTable {
  id: string;
  patientId: string;
  /** The same for one human being who cares for several patients of the clinic. */
  personId: string;
  name: string;
  /** Daughter, neighbor, nurse ... */
  relation: string;
  phone: string;
  email: string;
  createdAtMs: number;
  endedAtMs: number | null;
}

export const consentKinds = [
  'reminders',
  'caregiver-reminded',
  'caregiver-told-not-begun',
  'caregiver-sees-done',
  'caregiver-told-of-warnings',
] as const;

export type ConsentKind = (typeof consentKinds)[number];

/**
 * Append-only. The newest one of a kind, and of a caregiver where one is meant, rules; without any, it is not given.
 */
interface ConsentTable {
  id: string;
  patientId: string;
  caregiverId: string | null;
  kind: ConsentKind;
  /** 1 for a patient's first. */
  number: number;
  /** 1 given, 0 taken back. */
  isGiven: number;
  /** The day on which the patient said so, ISO. */
  onDate: string;
  note: string;
  clinicianId: string;
  atMs: number;
}

/** Why a record was erased; a kind only, so that nothing about the person is left. */

export const erasureReasons = ['asked-for', 'kept-long-enough', 'by-mistake', 'other'] as const;

/** Append-only: whose record was erased, of which nothing else is left. */
interface ErasureTable {
  patientId: string;
  clinicId: string;
  clinicianId: string;
  why: ErasureReason;
  atMs: number;
}

type ErasureReason = (typeof erasureReasons)[number];
