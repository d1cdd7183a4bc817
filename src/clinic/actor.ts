import { isoDayIn } from '../schedule/wallClock.js';
import type { Clinician } from '../store/accounts/clinicians.js';
import { refused } from './refusals.js';

/** Who acts, on a page or through another program, and when. */
export type Actor = {
  clinician: Clinician;
  /** The access key of the program that acts on her behalf; null on a page. */
  accessKeyId: string | null;
  /** Whether this request may change anything. */
  mayWrite: boolean;
  /** Epoch milliseconds. */
  nowMs: number;
};

/** Rule PERM-1: read-only members and read-only keys change nothing. @throws Refused for a read-only member or key */
export function requireMayWrite({ mayWrite }: Actor): void {
  if (!mayWrite) throw refused('read-only-account');
}

/** Rule PERM-2: some commands are for owners only. @throws Refused for everyone but an owner of the clinic */
export function requireOwner({ clinician }: Actor): void {
  if (clinician.role !== 'owner') throw refused('owner-only');
}

/** Today's date in the time zone of the actor's clinic, as an ISO date. */
export function clinicDayOf({ nowMs, clinician }: Actor): string {
  return isoDayIn(nowMs, clinician.clinicZone);
}
