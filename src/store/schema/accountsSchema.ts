import type { Generated } from 'kysely';

/** The tables of clinics and accounts; the rules of {@link Database} apply. */
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
