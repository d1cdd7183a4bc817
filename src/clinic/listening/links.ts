import { z } from 'zod';
import { auditActor } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import {
  addToken,
  hasToken,
  type LinkOwner,
  linkOfToken,
  makeLink,
  type OpenLink,
  revokeLinks,
  revokeTokens,
} from '../../store/listening/listeningLinks.js';
import { dayMs } from '../../time/units.js';
import { hashPassword } from '../accounts/passwords.js';
import { hashShortCode, newShortCode } from '../accounts/shortCodes.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { lockOwnChart } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { hashToken, newToken } from '../tokens.js';
import { auditListener } from './auditListener.js';
import { findListener, type Listener } from './listener.js';
import { endPush } from './push.js';

/** A printed link outlasts a usual course of several weeks, and expires if it is forgotten in a drawer. Our choice. */
const linkLastsMs = 180 * dayMs;

/** Empty for none. Four digits are what an 80-year-old can remember; attempts are limited. */
export const pinSchema = z.union([
  z.literal(''),
  z.string().regex(/^\d{4,8}$/, { error: 'four to eight digits' }),
]);

/** Everything about a link that is shown only once, and whom it admits. */
export type NewLink = {
  token: string;
  code: string;
  hasPin: boolean;
  expiresAtMs: number;
  listener: Listener | null;
};

/**
 * Makes the link of a patient or of one of their caregivers. The previous link ends at the same time, and so do
 * reminders on the phones that used it: they may have changed hands.
 *
 * @param caregiverId of the patient's caregiver; null for the patient
 * @throws Refused for a read-only member, or if there is no such patient
 */
export async function createLink(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  { patientId, caregiverId, pin }: { patientId: string; caregiverId: string | null; pin: string },
): Promise<NewLink> {
  requireMayWrite(actor);
  const [token, code] = [newToken(), newShortCode()];
  const [codeHash, pinHash] = [await hashShortCode(code), pin === '' ? null : await hashPassword(pin)];
  const expiresAtMs = actor.nowMs + linkLastsMs;
  const listener = await store.write(async (db) => {
    const owner = await ownerOf(db, actor, patientId, caregiverId);
    const { clinicId, id: clinicianId } = actor.clinician;
    const secrets = { tokenHash: hashToken(token), codeHash, pinHash };
    await endPush(db, { clinicId, owner, nowMs: actor.nowMs });
    const id = await makeLink(db, {
      clinicId,
      owner,
      ...secrets,
      clinicianId,
      nowMs: actor.nowMs,
      expiresAtMs,
    });
    await auditActor(db, actor, { patientId, subject: id, action: 'link-given' });
    const link = await linkOfToken(db, {
      tokenHash: secrets.tokenHash,
      purpose: 'pages',
      nowMs: actor.nowMs,
    });
    return link === null ? null : findListener(db, link);
  });
  return { token, code, hasPin: pin !== '', expiresAtMs, listener };
}

/** Ends a link immediately, and reminders on the phones that used it. Errors as for {@link createLink}. */
export async function revokeLink(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  { patientId, caregiverId }: { patientId: string; caregiverId: string | null },
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    const owner = await ownerOf(db, actor, patientId, caregiverId);
    const { clinicId } = actor.clinician;
    await revokeLinks(db, clinicId, owner, actor.nowMs);
    await endPush(db, { clinicId, owner, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: caregiverId ?? patientId, action: 'link-taken' });
  });
}

async function ownerOf(
  db: Db,
  actor: Actor,
  patientId: string,
  caregiverId: string | null,
): Promise<LinkOwner> {
  const chart = await lockOwnChart(db, actor, patientId);
  if (caregiverId === null) return { patientId };
  const caregiver = (await chart.caregivers()).find(({ id }) => id === caregiverId);
  if (caregiver === undefined) throw refused('no-such-caregiver');
  return { caregiverPersonId: caregiver.personId };
}

/** What a patient's other apps read at a private address: a player, a calendar. */
const otherReaders = { feed: 'xml', calendar: 'ics' } as const;
export type OtherReader = keyof typeof otherReaders;

/** Makes a new private address for one of a patient's other apps; the previous one ends. The listener requests it. */
export async function createReaderAddress(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  listener: Listener,
  purpose: OtherReader,
): Promise<string> {
  const { linkId } = listener;
  const token = newToken();
  await store.write(async (db) => {
    await revokeTokens(db, linkId, purpose, now());
    await addToken(db, { linkId, tokenHash: hashToken(token), purpose, nowMs: now() });
    await auditListener(db, listener, { action: `${purpose}-given`, atMs: now() });
  });
  return `/${purpose}/${token}.${otherReaders[purpose]}`;
}

/** Ends the address made by {@link createReaderAddress}, if there is one. */
export async function revokeReaderAddress(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  listener: Listener,
  purpose: OtherReader,
): Promise<void> {
  await store.write(async (db) => {
    if (!(await hasToken(db, listener.linkId, purpose))) return;
    await revokeTokens(db, listener.linkId, purpose, now());
    await auditListener(db, listener, { action: `${purpose}-ended`, atMs: now() });
  });
}

/** Makes a second address of a link for someone who typed its code: the printed address is stored only as a hash. */
export async function createTypedAddress(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  link: OpenLink,
): Promise<string> {
  const { linkId } = link;
  const token = newToken();
  await store.write(async (db) => {
    await addToken(db, { linkId, tokenHash: hashToken(token), purpose: 'pages', nowMs: now() });
    const listener = await findListener(db, link);
    if (listener !== null) await auditListener(db, listener, { action: 'code-typed', atMs: now() });
  });
  return token;
}
