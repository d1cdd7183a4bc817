import { randomUUID } from 'node:crypto';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { changeClinicContact, clinicById } from '../../src/store/accounts/clinics.js';
import { attentionOf } from '../../src/store/attention/attention.js';
import { lockPatient, openWarningSince, refreshAttention } from '../../src/store/attention/patientChanged.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { warningsOf } from '../../src/store/followup/history.js';
import {
  addToken,
  hasToken,
  type LinkOwner,
  linkOf,
  linkOfCode,
  linkOfToken,
  makeLink,
  markLinkSeen,
  recordPinAttempt,
  revokeLinks,
  revokeTokens,
} from '../../src/store/listening/listeningLinks.js';
import {
  answerWarnings,
  checkInsOf,
  countFinished,
  hasBegun,
  listHeardSince,
  listWarnedSigns,
  saveCheckIn,
  saveFeedDelivery,
  saveNotToday,
  saveSteps,
  saveWarning,
} from '../../src/store/listening/listeningRecords.js';
import {
  addCaregiver,
  caregiversOfClinic,
  endCaregiver,
  listCaredFor,
} from '../../src/store/people/caregivers.js';
import { createPrescription } from '../../src/store/prescribing/prescriptions.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25, 9);
const later = now + 60_000;

describe.each(databases)('listening, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let clinicId: string;
  let clinicianId: string;
  beforeAll(async () => {
    ({ store, close } = await open());
    ({ clinicId, clinicianId } = await store.write((db) => makeClinic(db, now)));
  });
  afterAll(() => close());

  const person = (name?: string) => store.write((db) => makePatient(db, clinicId, now, name));
  async function link(owner: LinkOwner, pinHash: string | null = null) {
    const [tokenHash, codeHash] = [randomUUID(), randomUUID()];
    const rest = { clinicianId, nowMs: now, expiresAtMs: now + 1_000_000 };
    const linkId = await store.write((db) =>
      makeLink(db, { clinicId, owner, tokenHash, codeHash, pinHash, ...rest }),
    );
    return { linkId, tokenHash, codeHash };
  }
  const opened = (tokenHash: string, nowMs = now) =>
    store.read((db) => linkOfToken(db, { tokenHash, purpose: 'pages', nowMs }));

  async function listening() {
    const patientId = await person();
    const { linkId } = await link({ patientId });
    const signing = { title: 'T', content: '{}', screeningId: null, reason: 'r', signedBy: clinicianId };
    const prescriptionId = await store.write((db) =>
      createPrescription(db, patientId, { ...signing, nowMs: now }),
    );
    const said = (slot = '2026-11-25#1') => ({
      id: randomUUID(),
      patientId,
      prescriptionId,
      versionNumber: 1,
      sessionNumber: 1,
      slot,
      linkId,
      caregiverId: null,
      atMs: now,
      receivedAtMs: now,
    });
    return { patientId, prescriptionId, said };
  }

  it('lets in by a token until its link is replaced, revoked or has run out', async () => {
    const patientId = await person();
    const first = await link({ patientId }, 'pin');
    expect(await opened(first.tokenHash)).toMatchObject({ linkId: first.linkId, patientId, pinHash: 'pin' });
    expect(await opened(randomUUID())).toBeNull();
    expect(await opened(first.tokenHash, now + 1_000_000), 'run out').toBeNull();
    expect((await store.read((db) => linkOfCode(db, first.codeHash, now)))?.linkId).toBe(first.linkId);
    const second = await link({ patientId });
    expect(await opened(first.tokenHash), 'replaced').toBeNull();
    expect(await store.read((db) => linkOfCode(db, first.codeHash, now)), 'its code too').toBeNull();
    await store.write((db) => markLinkSeen(db, second.linkId, later));
    const shown = await store.read((db) => linkOf(db, clinicId, { patientId }, now));
    expect(shown).toMatchObject({ id: second.linkId, hasPin: false, lastSeenAtMs: later });
    expect(
      await store.write((db) => revokeLinks(db, randomUUID(), { patientId }, later)),
      'another clinic',
    ).toBe(0);
    expect(await store.write((db) => revokeLinks(db, clinicId, { patientId }, later))).toBe(1);
    expect(await opened(second.tokenHash), 'revoked').toBeNull();
  });

  it('is one for each, however many are given at the same moment', async () => {
    const patientId = await person();
    const give = () =>
      store.write(async (db) => {
        await lockPatient(db, patientId);
        const [tokenHash, codeHash] = [randomUUID(), randomUUID()];
        const rest = { pinHash: null, clinicianId, nowMs: now, expiresAtMs: now + 1_000_000 };
        await makeLink(db, { clinicId, owner: { patientId }, tokenHash, codeHash, ...rest });
        return tokenHash;
      });
    const tokens = await Promise.all([give(), give(), give(), give()]);
    const open = await Promise.all(tokens.map((token) => opened(token)));
    expect(open.filter((each) => each !== null)).toHaveLength(1);
  });

  it('keeps count of wrong PINs until a right one', async () => {
    const patientId = await person();
    const { linkId, tokenHash } = await link({ patientId }, 'pin');
    for (const isRight of [false, false]) await store.write((db) => recordPinAttempt(db, linkId, isRight));
    expect((await opened(tokenHash))?.wrongPins).toBe(2);
    await store.write((db) => recordPinAttempt(db, linkId, true));
    expect((await opened(tokenHash))?.wrongPins).toBe(0);
  });

  it('keeps the tokens of a link apart by what they are for', async () => {
    const patientId = await person();
    const { linkId } = await link({ patientId });
    const tokenHash = randomUUID();
    await store.write((db) => addToken(db, { linkId, tokenHash, purpose: 'feed', nowMs: now }));
    expect(await opened(tokenHash), 'a feed opens no page').toBeNull();
    const asFeed = () => store.read((db) => linkOfToken(db, { tokenHash, purpose: 'feed', nowMs: now }));
    expect((await asFeed())?.linkId).toBe(linkId);
    expect(await store.read((db) => hasToken(db, linkId, 'feed'))).toBe(true);
    await store.write((db) => revokeTokens(db, linkId, 'feed', later));
    expect(await asFeed()).toBeNull();
    expect(await store.read((db) => hasToken(db, linkId, 'feed'))).toBe(false);
    expect(await store.read((db) => hasToken(db, linkId, 'pages')), 'the others stay').toBe(true);
  });

  it('knows for whom one human being cares, and no longer once that has ended', async () => {
    const [rosa, anna] = [await person('Rosa Lind'), await person('Anna Lind')];
    const details = { name: 'Jule', relation: 'daughter', phone: '', email: '' };
    const first = await store.write((db) => addCaregiver(db, rosa, details, { personId: null, nowMs: now }));
    const second = await store.write((db) =>
      addCaregiver(db, anna, details, { personId: first, nowMs: now }),
    );
    const known = (await store.read((db) => caregiversOfClinic(db, clinicId))).find(
      ({ personId }) => personId === first,
    );
    expect(known).toEqual({ personId: first, name: 'Jule', patientNames: ['Anna Lind', 'Rosa Lind'] });
    const { tokenHash } = await link({ caregiverPersonId: first });
    expect((await opened(tokenHash))?.caregiverPersonId).toBe(first);
    const cared = () => store.read((db) => listCaredFor(db, clinicId, first));
    expect(await cared()).toEqual([
      { caregiverId: second, patientId: anna },
      { caregiverId: first, patientId: rosa },
    ]);
    await store.write((db) => endCaregiver(db, rosa, { id: first, nowMs: later }));
    expect(await cared()).toEqual([{ caregiverId: second, patientId: anna }]);
    expect(await store.read((db) => listCaredFor(db, randomUUID(), first)), 'another clinic').toEqual([]);
  });

  it('keeps what a device tells once, also when it comes twice at the same moment', async () => {
    const { patientId, prescriptionId, said } = await listening();
    expect(await store.read((db) => hasBegun(db, patientId, null))).toBe(false);
    const step = { ...said(), listeningId: randomUUID(), step: 'finished' as const, positionMs: 1 };
    const twice = await Promise.all([1, 2].map(() => store.write((db) => saveSteps(db, [step]))));
    expect(twice.flat().sort()).toEqual(['known', 'new']);
    expect(await store.write((db) => saveNotToday(db, { ...said(), reason: 'unwell' }))).toBe('new');
    const fetched = { ...said('2026-11-26#1') };
    expect(await store.write((db) => saveFeedDelivery(db, fetched))).toBe('new');
    expect(await store.write((db) => saveFeedDelivery(db, fetched))).toBe('known');
    const foreign = { ...step, patientId: await person('Emil') };
    expect(await store.write((db) => saveSteps(db, [foreign])), 'an id of somebody else').toEqual([
      'foreign',
    ]);
    const told = { listeningId: step.listeningId, choice: 'lighter' as const };
    const checkIn = { ...said(), ...told, answers: '{"note":"ü"}' };
    expect(await store.write((db) => saveCheckIn(db, checkIn))).toBe('new');
    expect(await store.read((db) => listHeardSince(db, patientId, now))).toMatchObject({
      steps: [{ id: step.id, positionMs: 1, atMs: now }],
      notToday: [{ reason: 'unwell' }],
      deliveries: [{ id: fetched.id }],
    });
    expect((await store.read((db) => listHeardSince(db, patientId, later))).steps, 'since then').toEqual([]);
    expect(await store.read((db) => checkInsOf(db, patientId, 5))).toEqual([checkIn]);
    expect(await store.read((db) => countFinished(db, prescriptionId)), 'not what was only fetched').toBe(1);
    expect(await store.read((db) => hasBegun(db, patientId, null))).toBe(true);
    expect(await store.read((db) => hasBegun(db, patientId, randomUUID())), 'by a caregiver').toBe(false);
    for (const table of ['listeningStep', 'notToday', 'feedDelivery', 'checkIn'])
      await expect(
        store.write((db) => sql`update ${sql.ref(table)} set "slot" = 'x'`.execute(db)),
        table,
      ).rejects.toThrow(/never changed/);
  });

  it('puts a warning sign before everything else until one clinician has answered it', async () => {
    const { patientId, said } = await listening();
    const refreshed = () => store.write((db) => refreshAttention(db, patientId));
    const listeningId = randomUUID();
    const warning = { ...said(), listeningId, positionMs: null, signs: '["new-back-pain"]' };
    expect(await store.read((db) => listWarnedSigns(db, patientId, listeningId))).toEqual([]);
    expect(await store.write((db) => saveWarning(db, warning))).toBe('new');
    await refreshed();
    expect(await store.read((db) => openWarningSince(db, patientId))).toBe(now);
    const { first } = await store.read((db) => attentionOf(db, clinicId, 3));
    expect(first[0]).toMatchObject({ kind: 'warning-sign', patientId });
    expect(await store.read((db) => listWarnedSigns(db, patientId, listeningId))).toEqual([warning.signs]);
    const unnamed = { ...said(), listeningId: null, positionMs: 1, signs: '[]', atMs: later };
    await store.write((db) => saveWarning(db, unnamed));
    const order = (await store.read((db) => warningsOf(db, patientId, 5))).map(({ id }) => id);
    expect(order, 'the one that names a sign first, though it is older').toEqual([warning.id, unnamed.id]);
    const unseen = { ...said(), listeningId: null, positionMs: 1, signs: '[]', receivedAtMs: later + 1 };
    const answer = (whose = patientId) =>
      store.write(async (db) => {
        await lockPatient(db, whose);
        return answerWarnings(db, whose, { seenUpToMs: later, clinicianId, note: 'seen', nowMs: later });
      });
    expect(await answer(await person('Emil')), 'not theirs').toEqual([]);
    await store.write((db) => saveWarning(db, unseen));
    const both = await Promise.all([answer(), answer()]);
    expect(both.flat().sort(), 'each once, by one of two at once').toEqual([warning.id, unnamed.id].sort());
    expect(await store.read((db) => openWarningSince(db, patientId)), 'not seen yet').toBe(later + 1);
    await store.write((db) =>
      answerWarnings(db, patientId, { seenUpToMs: later + 1, clinicianId, note: 'too', nowMs: later + 2 }),
    );
    await refreshed();
    expect(await store.read((db) => openWarningSince(db, patientId))).toBeNull();
    const kept = (await store.read((db) => warningsOf(db, patientId, 5))).find(({ id }) => id === warning.id);
    expect(kept?.answer).toEqual({ note: 'seen', atMs: later, clinicianName: 'Ada' });
    const reasons = (await store.read((db) => attentionOf(db, clinicId, 100))).first;
    expect(reasons.filter(({ kind }) => kind === 'warning-sign')).toEqual([]);
  });

  it('knows whom listeners call', async () => {
    expect(await store.read((db) => clinicById(db, clinicId))).toMatchObject({
      phone: '',
      emergencyNumber: '',
    });
    const contact = { phone: '0100 555 00', emergencyNumber: '112' };
    await store.write((db) => changeClinicContact(db, clinicId, contact));
    expect(await store.read((db) => clinicById(db, clinicId))).toMatchObject(contact);
  });
});
