import type { Generated } from 'kysely';
import type { FollowUpTables } from './followUpSchema.js';
import type { ListeningTables } from './listeningSchema.js';
import type { ReminderTables } from './reminderSchema.js';

/**
 * The tables. Ids are random UUIDs, instants are epoch milliseconds (`...AtMs`), calendar dates ISO text, and JSON is
 * text that is parsed with a schema on reading: the same in SQLite and PostgreSQL.
 */
export interface Database extends ListeningTables, ReminderTables, FollowUpTables {
  clinic: ClinicTable;
  clinician: ClinicianTable;
  invitation: InvitationTable;
  signInSession: SignInSessionTable;
  accountLink: AccountLinkTable;
  recoveryCode: RecoveryCodeTable;
  patient: PatientTable;
  screening: ScreeningTable;
  attention: AttentionTable;
  caregiver: CaregiverTable;
  consent: ConsentTable;
  clinicProgram: ClinicProgramTable;
  accessKey: AccessKeyTable;
  prescription: PrescriptionTable;
  prescriptionVersion: PrescriptionVersionTable;
  prescriptionState: PrescriptionStateTable;
  notPlayable: NotPlayableTable;
  draft: DraftTable;
  auditEntry: AuditEntryTable;
  erasure: ErasureTable;
  incident: IncidentTable;
}

export const roles = ['owner', 'clinician', 'read-only'] as const;
export type Role = (typeof roles)[number];

export const prescriptionStates = ['active', 'paused', 'ended'] as const;
export type PrescriptionState = (typeof prescriptionStates)[number];

interface ClinicTable {
  id: string;
  name: string;
  /** The IANA zone in which the clinic's own times are shown. */
  zone: string;
  /** Whom a listener calls; empty if not entered. */
  phone: Generated<string>;
  /** For the place where the clinic's patients live; empty if not entered. */
  emergencyNumber: Generated<string>;
  /** When it reads notes, in its own words; empty for the default. */
  notesReading: Generated<string>;
  createdAtMs: number;
}

interface ClinicianTable {
  id: string;
  clinicId: string;
  /** Lower case; unique over all clinics. For a closed account its id, so that the address is free again. */
  email: string;
  /** The address of a closed account; null before. */
  formerEmail: Generated<string | null>;
  name: string;
  role: Role;
  passwordHash: string;
  /** Base 32; null without two-step verification. */
  totpSecret: string | null;
  /** The step of the last code used, so that none works twice. */
  totpLastStep: number;
  /** 1 if the weekly summary is on. */
  wantsDigest: Generated<number>;
  /** Up to when she has seen the links made on the server for owners. */
  noticesSeenAtMs: Generated<number>;
  /** Up to when she has seen the failures of the service. */
  incidentsSeenAtMs: Generated<number>;
  createdAtMs: number;
  endedAtMs: number | null;
}

/** A link that works once: for the owner of a new clinic, or a new team member. */
interface InvitationTable {
  tokenHash: string;
  clinicId: string | null;
  role: Role;
  createdAtMs: number;
  expiresAtMs: number;
  usedAtMs: number | null;
}

interface SignInSessionTable {
  tokenHash: string;
  clinicianId: string;
  /** Included in every form of this sign-in (against requests from other sites). */
  formToken: string;
  createdAtMs: number;
  lastSeenAtMs: number;
  expiresAtMs: number;
  /** Browser and system as two keys of the interface words; empty for one from before they were stored. */
  device: Generated<string>;
}

/** A link that works once, with which a locked-out member sets a new password. */
interface AccountLinkTable {
  tokenHash: string;
  /** Whose password it changes. */
  clinicianId: string;
  /** The owner who made it; null for one made on the server. */
  madeById: string | null;
  /** 1 if using it also turns off two-step verification. */
  clearsSecondStep: number;
  createdAtMs: number;
  expiresAtMs: number;
  usedAtMs: number | null;
}

/** Works once in place of a verification code; stored as a hash. */
interface RecoveryCodeTable {
  clinicianId: string;
  codeHash: string;
  createdAtMs: number;
  usedAtMs: number | null;
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

/** A clinic program. */
interface ClinicProgramTable {
  id: string;
  clinicId: string;
  title: string;
  /** JSON of a program, without a listener. */
  content: string;
  clinicianId: string;
  createdAtMs: number;
  endedAtMs: number | null;
}

/** Lets another program act on behalf of a clinician, through the API. */
interface AccessKeyTable {
  id: string;
  tokenHash: string;
  clinicianId: string;
  name: string;
  /** 1 if it may change data, 0 if it may only read. */
  mayWrite: number;
  createdAtMs: number;
  lastSeenAtMs: number | null;
  endedAtMs: number | null;
}

interface PrescriptionTable {
  id: string;
  patientId: string;
  title: string;
  state: PrescriptionState;
  /** The number of the newest version. */
  newestVersion: number;
  /** Identifies the draft it comes from, so that sending it twice creates it once; null for older ones. */
  workId: string | null;
  createdAtMs: number;
  /** The checksum of the row as the service last wrote it; a mismatch means damage. */
  checksum: string;
}

/** Append-only. */
interface PrescriptionVersionTable {
  prescriptionId: string;
  number: number;
  /** JSON of a prescription's content. */
  content: string;
  /** The interview that it was signed on; null for those from before there was one. */
  screeningId: string | null;
  reason: string;
  signedBy: string;
  signedAtMs: number;
  /** The checksum of what was signed; a mismatch means damage. */
  checksum: string;
}

/** Append-only: when a prescription was paused, resumed or ended, by whom and why. */
interface PrescriptionStateTable {
  id: string;
  prescriptionId: string;
  state: PrescriptionState;
  clinicianId: string;
  reason: string;
  atMs: number;
}

/** From when until when an active program could not be played as signed; `untilMs` is null while it cannot. */
interface NotPlayableTable {
  prescriptionId: string;
  patientId: string;
  fromMs: number;
  untilMs: Generated<number | null>;
}

/** The kinds of failures while a service runs. */
export const incidentCodes = [
  'request-failed',
  'session-not-made',
  'message-not-sent',
  'work-failed',
  'housekeeping-failed',
  'crashed',
  'damaged-record',
  'last-change',
] as const;
export type IncidentCode = (typeof incidentCodes)[number];

/** One kind with one cause, however often it happened. */
export interface IncidentTable {
  code: IncidentCode;
  /** Plain words or a code, without anything about a patient. */
  cause: string;
  times: number;
  firstAtMs: number;
  lastAtMs: number;
  /** The last request or task that met it, to find it in the log; null for what was never logged. */
  requestId: string | null;
}

/** Drafts: one for each clinician and prescription, or new prescription of a patient. */
interface DraftTable {
  clinicianId: string;
  patientId: string;
  /** Empty for a prescription that does not exist yet. */
  prescriptionId: string;
  content: string;
  /** The version that the draft is based on; 0 for a new prescription. */
  basedOnNumber: number;
  updatedAtMs: number;
}

/** Append-only. */
interface AuditEntryTable {
  sequence: Generated<number>;
  clinicId: string;
  patientId: string | null;
  clinicianId: string | null;
  action: string;
  /** The id of what was viewed or changed; never a name or an address. */
  subject: string;
  /** The key through which another program did it. */
  accessKeyId: string | null;
  atMs: number;
}

/** Why a record was erased; only a kind, so that nothing about the patient remains. */
export const erasureReasons = ['asked-for', 'kept-long-enough', 'by-mistake', 'other'] as const;
type ErasureReason = (typeof erasureReasons)[number];

/** Append-only: whose record was erased; nothing else of it remains. */
interface ErasureTable {
  patientId: string;
  clinicId: string;
  clinicianId: string;
  why: ErasureReason;
  atMs: number;
}
