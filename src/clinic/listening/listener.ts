import type { Db } from '../../store/engine/openStore.js';
import { ignoreSuperseded } from '../../store/engine/superseded.js';
import {
  type LinkOwner,
  linkOfToken,
  markLinkSeen,
  type OpenLink,
} from '../../store/listening/listeningLinks.js';
import { listCaredFor } from '../../store/people/caregivers.js';
import type { Resources } from '../resources/resources.js';
import { hashToken } from '../tokens.js';

/** How often, at most, the use of a link is recorded. */
const seenEveryMs = 10 * 60_000;

/** A person admitted by a link. */
export type Listener = {
  linkId: string;
  clinicId: string;
  /** The owner of the link. */
  owner: LinkOwner;
  isCaregiver: boolean;
  /**
   * The patients they may listen for; `caregiverId` connects a caregiver with this patient and is null for the patient.
   */
  patients: readonly { patientId: string; caregiverId: string | null }[];
};

export type Entry =
  | { kind: 'open'; listener: Listener }
  | { kind: 'pin'; link: OpenLink }
  /** Never existed, revoked, expired, or no patient left to care for: the answer is the same. */
  | { kind: 'dead' };

/**
 * Whom the token in an address admits.
 *
 * @param givenPin the token of a device that has given the PIN, null for any other
 */
export async function resolveEntry(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  { token, givenPin }: { token: string; givenPin: string | null },
): Promise<Entry> {
  const nowMs = now();
  const tokenHash = hashToken(token);
  const link = await store.read((db) => linkOfToken(db, { tokenHash, purpose: 'pages', nowMs }));
  if (link === null) return { kind: 'dead' };
  const listener = await store.read((db) => findListener(db, link));
  if (listener === null) return { kind: 'dead' };
  if (link.pinHash !== null && !(await store.read((db) => hasGivenPin(db, { link, givenPin, nowMs }))))
    return { kind: 'pin', link };
  if (nowMs - (link.lastSeenAtMs ?? 0) > seenEveryMs) {
    await store.write((db) => markLinkSeen(db, link.linkId, nowMs)).catch(ignoreSuperseded);
  }
  return { kind: 'open', listener };
}

/** Null if a caregiver has no patient left to care for. */
export async function findListener(db: Db, link: OpenLink): Promise<Listener | null> {
  const { linkId, clinicId, patientId, caregiverPersonId } = link;
  if (patientId !== null) {
    const patients = [{ patientId, caregiverId: null }];
    return { linkId, clinicId, owner: { patientId }, isCaregiver: false, patients };
  }
  const owner = { caregiverPersonId: caregiverPersonId ?? '' };
  const patients = await listCaredFor(db, clinicId, owner.caregiverPersonId);
  return patients.length === 0 ? null : { linkId, clinicId, owner, isCaregiver: true, patients };
}

/** Rule PERM-6: whether a device has given the PIN of this particular link. */
async function hasGivenPin(
  db: Db,
  { link, givenPin, nowMs }: { link: OpenLink; givenPin: string | null; nowMs: number },
): Promise<boolean> {
  if (givenPin === null) return false;
  const found = await linkOfToken(db, { tokenHash: hashToken(givenPin), purpose: 'pin', nowMs });
  return found?.linkId === link.linkId;
}
