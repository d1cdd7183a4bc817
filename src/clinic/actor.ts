import { isoDayIn } from '../schedule/wallClock.js';
import { type AuditEntry, addAuditEntry } from '../store/accounts/audit.js';
import type { Clinician } from '../store/accounts/clinicians.js';
import type { Db } from '../store/engine/openStore.js';
import { refused } from './refusals.js';

/** Who does something, on a page or through another program, and when. */
export type Actor = {
  clinician: Clinician;
  /** The key of the program that acts for her; null on a page. */
  accessKeyId: string | null;
  /** Whether this request may change anything. */
  mayWrite: boolean;
  /** Epoch milliseconds. */
  nowMs: number;
};

/** Rule PERM-1: who may only read changes nothing. @throws Refused for somebody, or a key, that may only read */
export function requireMayWrite({ mayWrite }: Actor): void {
  if (!mayWrite) throw refused('read-only-account');
}

/** Rule PERM-2: some things are for owners alone. @throws Refused for everyone but an owner of the clinic */
export function requireOwner({ clinician }: Actor): void {
  if (clinician.role !== 'owner') throw refused('owner-only');
}

/** The day that it is for an actor's clinic, as ISO date. */
export function clinicDayOf({ nowMs, clinician }: Actor): string {
  return isoDayIn(nowMs, clinician.clinicZone);
}

/** Puts what an actor did on the trail, in the transaction that does it. */
export function auditActor(
  db: Db,
  { clinician, accessKeyId, nowMs }: Actor,
  what: Pick<AuditEntry, 'patientId' | 'subject' | 'action'>,
): Promise<void> {
  const { clinicId, id: clinicianId } = clinician;
  return addAuditEntry(db, { clinicId, clinicianId, accessKeyId, atMs: nowMs, ...what });
}
