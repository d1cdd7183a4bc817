import type { Generated } from 'kysely';
import type { FollowUpTables } from './followUpSchema.js';
import type { ListeningTables } from './listeningSchema.js';
import type { ReminderTables } from './reminderSchema.js';

/**
 * The tables. Ids are random UUIDs, instants are epoch milliseconds (`...AtMs`), calendar dates ISO text, JSON is
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
  /** IANA zone, in which the clinic's own times are shown. */
  zone: string;
  /** Whom a listener calls; empty when it was not given. */
  phone: Generated<string>;
  /** Of the place where the clinic's patients live; empty when it was not given. */
  emergencyNumber: Generated<string>;
  /** When it reads notes, in its own words; empty for the usual sentence. */
  notesReading: Generated<string>;
  createdAtMs: number;
}

interface ClinicianTable {
  id: string;
  clinicId: string;
  /** Lower case; unique over all clinics. Of an account that has ended its id, so that the address is free again. */
  email: string;
  /** The address of an account that has ended; null before. */
  formerEmail: Generated<string | null>;
  name: string;
  role: Role;
  passwordHash: string;
  /** Base 32; null without a second step. */
  totpSecret: string | null;
  /** The step of the last code used, so that none works twice. */
  totpLastStep: number;
  /** 1 when the week is to come by email. */
  wantsDigest: Generated<number>;
  /** Up to when she has seen which links were made on the machine for owners. */
  noticesSeenAtMs: Generated<number>;
  /** Up to when she has seen what failed while the service ran. */
  incidentsSeenAtMs: Generated<number>;
  createdAtMs: number;
  endedAtMs: number | null;
}

/** A link that works once: for the owner of a new clinic, or a colleague of one. */
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
  /** Stands in every form of this session (against requests from other sites). */
  formToken: string;
  createdAtMs: number;
  lastSeenAtMs: number;
  expiresAtMs: number;
  /** Browser and system as two keys of the pages' words; empty for one from before they were kept. */
  device: Generated<string>;
}

/** A link that works once, with which someone who is locked out chooses a new password. */
interface AccountLinkTable {
  tokenHash: string;
  /** Whose password it changes. */
  clinicianId: string;
  /** The owner who made it; null for one made on the machine. */
  madeById: string | null;
  /** 1 when using it also takes the second step away. */
  clearsSecondStep: number;
  createdAtMs: number;
  expiresAtMs: number;
  usedAtMs: number | null;
}

/** Works once in place of a code of the second step; kept by its hash. */
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

/** A program that a clinic keeps to begin others with. */
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

/** Lets another program act for a clinician, through the API. */
interface AccessKeyTable {
  id: string;
  tokenHash: string;
  clinicianId: string;
  name: string;
  /** 1 when it may change, 0 when it may only read. */
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
  /** Names the work that it came of, so that sending it twice makes it once; null for older ones. */
  workId: string | null;
  createdAtMs: number;
  /** Of the row as it was last written by the service; anything else is damage. */
  checksum: string;
}

/** Append-only. */
interface PrescriptionVersionTable {
  prescriptionId: string;
  number: number;
  /** JSON of the prescription room's content. */
  content: string;
  /** The interview that it was signed on; null for those before there was one. */
  screeningId: string | null;
  reason: string;
  signedBy: string;
  signedAtMs: number;
  /** Of what was signed; anything else is damage. */
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

/** From when until when a program that ran could not be played as it was signed; `untilMs` is null while it cannot. */
interface NotPlayableTable {
  prescriptionId: string;
  patientId: string;
  fromMs: number;
  untilMs: Generated<number | null>;
}

/** The kinds of things that fail while a service runs. */
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
  /** Plain words or a code, without anything about a person. */
  cause: string;
  times: number;
  firstAtMs: number;
  lastAtMs: number;
  /** The last request or piece of work that met it, by which it is found in the log; null for what was never logged. */
  requestId: string | null;
}

/** Unsigned work: one for each clinician and prescription, or new prescription of a patient. */
interface DraftTable {
  clinicianId: string;
  patientId: string;
  /** Empty for a prescription that does not exist yet. */
  prescriptionId: string;
  content: string;
  /** The version that the work began with; 0 for a new prescription. */
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
  /** The id of what was read or changed; never a name or an address. */
  subject: string;
  /** The key through which another program did it. */
  accessKeyId: string | null;
  atMs: number;
}

/** Why a record was erased; a kind only, so that nothing about the person is left. */
export const erasureReasons = ['asked-for', 'kept-long-enough', 'by-mistake', 'other'] as const;
type ErasureReason = (typeof erasureReasons)[number];

/** Append-only: whose record was erased, of which nothing else is left. */
interface ErasureTable {
  patientId: string;
  clinicId: string;
  clinicianId: string;
  why: ErasureReason;
  atMs: number;
}
