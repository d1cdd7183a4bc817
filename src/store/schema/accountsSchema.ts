import type { Generated } from 'kysely';

/** The tables of clinics and accounts; the rules of {@link Database} hold. */
export interface AccountTables {
  clinic: ClinicTable;
  clinician: ClinicianTable;
  invitation: InvitationTable;
  signInSession: SignInSessionTable;
  accountLink: AccountLinkTable;
  recoveryCode: RecoveryCodeTable;
  accessKey: AccessKeyTable;
  auditEntry: AuditEntryTable;
}

export const roles = ['owner', 'clinician', 'read-only'] as const;
export type Role = (typeof roles)[number];

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
