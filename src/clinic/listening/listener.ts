import type { Request } from 'express';
import { caredForBy } from '../../store/people/caregivers.js';
import { type LinkOwner, linkOfToken, noteLinkSeen, type OpenLink } from '../../store/listening/listeningLinks.js';
import type { Db } from '../../store/engine/openStore.js';
import { ignoreSuperseded } from '../../store/engine/superseded.js';
import { hashToken } from '../accounts/tokens.js';
import { cookieOf } from '../../http/server/routing.js';
import type { Service } from '../../http/server/resources.js';

/** Devices that gave the PIN carry this cookie, at the address of their link only. */
export const pinCookieName = 'stillcount-pin';
/** That a link was used is written down at most this often. */
const seenEveryMs = 10 * 60_000;

/** Somebody whom a link lets in. */
export type Listener = {
  linkId: string;
  clinicId: string;
  /** Whose link it is. */
  owner: LinkOwner;
  isCaregiver: boolean;
  /** For whom they may listen; `caregiverId` links a caregiver to this patient and is null for the patient. */
  patients: readonly { patientId: string; caregiverId: string | null }[];
};

export type Entry =
  | { kind: 'open'; listener: Listener }
  | { kind: 'pin'; link: OpenLink }
  /** Never was, revoked, run out, or nobody is left to care for: always the same. */
  | { kind: 'dead' };

/** Whom the token in an address lets in. */
export async function entryOf(request: Request, service: Service): Promise<Entry> {
  const { store } = service;
  const nowMs = service.now();
  const token = request.params.token;
  if (typeof token !== 'string') return { kind: 'dead' };
  const tokenHash = hashToken(token);
  const link = await store.read((db) => linkOfToken(db, { tokenHash, purpose: 'pages', nowMs }));
  if (link === null) return { kind: 'dead' };
  const listener = await store.read((db) => listenerOf(db, link));
  if (listener === null) return { kind: 'dead' };
  if (link.pinHash !== null && !(await hasGivenPin(request, service, link, nowMs)))
    return { kind: 'pin', link };
  if (nowMs - (link.lastSeenAtMs ?? 0) > seenEveryMs) {
    await store.write((db) => noteLinkSeen(db, link.linkId, nowMs)).catch(ignoreSuperseded);
  }
  return { kind: 'open', listener };
}

/** Null when a caregiver has nobody left to care for. */
export async function listenerOf(db: Db, link: OpenLink): Promise<Listener | null> {
  const { linkId, clinicId, patientId, caregiverPersonId } = link;
  if (patientId !== null) {
    const patients = [{ patientId, caregiverId: null }];
    return { linkId, clinicId, owner: { patientId }, isCaregiver: false, patients };
  }
  const owner = { caregiverPersonId: caregiverPersonId ?? '' };
  const patients = await caredForBy(db, clinicId, owner.caregiverPersonId);
  return patients.length === 0 ? null : { linkId, clinicId, owner, isCaregiver: true, patients };
}

async function hasGivenPin(
  request: Request,
  { store }: Service,
  link: OpenLink,
  nowMs: number,
): Promise<boolean> {
  const given = cookieOf(request, pinCookieName);
  if (given === null) return false;
  const found = await store.read((db) =>
    linkOfToken(db, { tokenHash: hashToken(given), purpose: 'pin', nowMs }),
  );
  return found?.linkId === link.linkId;
}
