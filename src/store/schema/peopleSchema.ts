/** The tables of patients and their caregivers; the rules of {@link Database} apply. */
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
  /** Increases with each change; a change names the one it is based on. */
  revision: number;
}

/** Append-only. A patient's newest one is current. */
interface ScreeningTable {
  id: string;
  patientId: string;
  /** 1 for a patient's first. */
  number: number;
  /** JSON of a screening's answers. */
  answers: string;
  /** 1 if something in it needs a doctor before everything else. */
  stops: number;
  clinicianId: string;
  atMs: number;
  /** The checksum of what was recorded; a mismatch means damage. */
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

/** Who needs a clinician, and why; recomputed for a patient whenever something about them changes. */
interface AttentionTable {
  clinicId: string;
  patientId: string;
  kind: AttentionKind;
  /** The id of the patient or prescription that it concerns. */
  subject: string;
  sinceMs: number;
}

interface CaregiverTable {
  id: string;
  patientId: string;
  /** The same for one person who cares for several of the clinic's patients. */
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
 * Append-only. The newest one of a kind, and per caregiver where it concerns one, is current; without any, consent is
 * not given.
 */
interface ConsentTable {
  id: string;
  patientId: string;
  caregiverId: string | null;
  kind: ConsentKind;
  /** 1 for a patient's first. */
  number: number;
  /** 1 given, 0 withdrawn. */
  isGiven: number;
  /** The day on which the patient said so, ISO. */
  onDate: string;
  note: string;
  clinicianId: string;
  atMs: number;
}

/** Why a record was erased; only a kind, so that nothing about the patient remains. */

export const erasureReasons = ['asked-for', 'kept-long-enough', 'by-mistake', 'other'] as const;

/** Append-only: whose record was erased; nothing else of it remains. */
interface ErasureTable {
  patientId: string;
  clinicId: string;
  clinicianId: string;
  why: ErasureReason;
  atMs: number;
}

type ErasureReason = (typeof erasureReasons)[number];
