import { randomUUID } from 'node:crypto';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { notifyOfAccountChange, redirectToNewAddress } from '../../src/reminders/accountNews.js';
import { openReminderSecrets, type ReminderSecrets } from '../../src/reminders/secrets.js';
import {
  consumeAccountLink,
  endAccountLinks,
  endAccountLinksBy,
  findAccountLink,
  isKnownAccountLink,
  markOwnerLinksSeen,
  ownerLinkNotices,
  ownersOf,
  saveAccountLink,
} from '../../src/store/accounts/accountLinks.js';
import { clinicianByEmail, isEmailTaken, ownerById, setEmail } from '../../src/store/accounts/clinicians.js';
import {
  colleaguesOf,
  endAccount,
  inviteColleague,
  joinClinic,
} from '../../src/store/accounts/colleagues.js';
import {
  consumeRecoveryCode,
  countRecoveryCodes,
  replaceRecoveryCodes,
} from '../../src/store/accounts/recoveryCodes.js';
import { beginSignIn, endOtherSignIns, signInsOf } from '../../src/store/accounts/signInSessions.js';
import { openStore, type Store } from '../../src/store/engine/openStore.js';
import { insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { Sqlite } from '../sqlite.js';
import { databases } from './databases.js';
import { makeClinic } from './people.js';

const hour = 3_600_000;
const now = Date.UTC(2026, 10, 25, 9);

describe.each(databases)('what lets people back in, on $name', ({ open }) => {
  let store: Store;
  let secrets: ReminderSecrets;
  let close: () => Promise<void>;
  beforeAll(async () => {
    ({ store, close } = await open());
    secrets = await openReminderSecrets(store, now);
  });
  afterAll(() => close());

  const newEmail = () => `${randomUUID()}@example.org`;
  const clinic = async (email = newEmail()) => ({
    email,
    ...(await store.write((db) => makeClinic(db, now, email))),
  });
  const joinAs = (clinicId: string, email: string, role: 'owner' | 'clinician' = 'clinician') =>
    store.write(async (db) => {
      const tokenHash = randomUUID();
      await inviteColleague(db, { tokenHash, clinicId, role, nowMs: now, expiresAtMs: now + hour });
      const joined = await joinClinic(db, { tokenHash, name: 'Ben', email, passwordHash: 'h', nowMs: now });
      return joined?.clinicianId ?? expect.unreachable('the invitation is new');
    });
  const keepLink = async (clinicianId: string, madeById: string | null, nowMs = now) => {
    const tokenHash = randomUUID();
    const link = { tokenHash, clinicianId, madeById, clearsSecondStep: false };
    await store.write((db) => saveAccountLink(db, { ...link, nowMs, expiresAtMs: nowMs + hour }));
    return tokenHash;
  };
  const opened = (tokenHash: string, nowMs = now) =>
    store.read((db) => findAccountLink(db, tokenHash, nowMs));
  const use = (tokenHash: string, nowMs = now) =>
    store.write((db) => consumeAccountLink(db, tokenHash, nowMs));

  it('lets a link be used once, in time, and only the newest of an account', async () => {
    const { clinicId, clinicianId, email } = await clinic();
    const older = await keepLink(clinicianId, clinicianId);
    const link = await keepLink(clinicianId, clinicianId);
    expect(await opened(older)).toBeNull();
    expect(await use(older)).toBeNull();
    expect(await opened(link)).toEqual({
      ...{ clinicId, clinicianId, email, name: 'Ada', clinicName: 'Quillmere', clearsSecondStep: false },
    });
    expect(await use(link, now + hour), 'too late').toBeNull();
    const another = await keepLink(clinicianId, null);
    const used = await Promise.all([use(another), use(another)]);
    expect(used.filter((each) => each !== null)).toHaveLength(1);
    expect(await opened(another)).toBeNull();
    expect(await store.read((db) => isKnownAccountLink(db, another))).toBe(true);
    expect(await store.read((db) => isKnownAccountLink(db, randomUUID()))).toBe(false);
  });

  it('ends links with the account, with the owner who made them, and when the password is known again', async () => {
    const { clinicId, clinicianId } = await clinic();
    const ben = await joinAs(clinicId, newEmail());
    const known = await keepLink(ben, clinicianId);
    await store.write((db) => endAccountLinks(db, ben, now));
    expect(await opened(known)).toBeNull();
    const madeByHer = await keepLink(ben, clinicianId);
    await store.write((db) => endAccountLinksBy(db, clinicianId, now));
    expect(await opened(madeByHer)).toBeNull();
    const ofEnded = await keepLink(ben, clinicianId);
    await store.write((db) => endAccount(db, clinicId, { clinicianId: ben, nowMs: now }));
    expect(await opened(ofEnded)).toBeNull();
  });

  it('shows each owner once which links were made on the machine', async () => {
    const { clinicId, clinicianId, email } = await clinic();
    const another = newEmail();
    const zoe = await joinAs(clinicId, another, 'owner');
    const elsewhere = await clinic();
    await keepLink(clinicianId, zoe, now + 1);
    await keepLink(zoe, null, now + 2);
    const shown = (id: string) => store.read((db) => ownerLinkNotices(db, id));
    const notice = { name: 'Ben', createdAtMs: now + 2, expiresAtMs: now + 2 + hour, usedAtMs: null };
    expect([await shown(clinicianId), await shown(zoe)]).toEqual([[notice], [notice]]);
    expect(await shown(elsewhere.clinicianId), 'another clinic').toEqual([]);
    await store.write((db) => markOwnerLinksSeen(db, zoe, now + 2));
    await store.write((db) => markOwnerLinksSeen(db, zoe, now));
    expect([await shown(clinicianId), await shown(zoe)]).toEqual([[notice], []]);
    await keepLink(zoe, null, now + 1);
    expect(
      (await shown(zoe)).map(({ createdAtMs }) => createdAtMs),
      'made after the clock was set back',
    ).toContain(now + 1);
    await store.write((db) => markOwnerLinksSeen(db, zoe, now + 2));
    const owners = await store.read((db) => ownersOf(db, clinicId));
    expect(owners.map((each) => each.email).sort()).toEqual([email, another].sort());
    expect(await store.read((db) => ownerById(db, zoe))).toMatchObject({ id: zoe, role: 'owner' });
    const ben = await joinAs(clinicId, newEmail());
    expect(await store.read((db) => ownerById(db, ben)), 'no owner').toBeNull();
  });

  it('takes each recovery code once, also when it comes twice at a moment', async () => {
    const { clinicianId } = await clinic();
    const keep = (codeHashes: string[]) =>
      store.write((db) => replaceRecoveryCodes(db, clinicianId, { codeHashes, nowMs: now }));
    const take = (codeHash: string) =>
      store.write((db) => consumeRecoveryCode(db, clinicianId, { codeHash, nowMs: now }));
    const left = () => store.read((db) => countRecoveryCodes(db, clinicianId));
    await keep(['a', 'b', 'c']);
    expect((await Promise.all([take('a'), take('a')])).sort()).toEqual([false, true]);
    expect([await take('a'), await take('none'), await left()]).toEqual([false, false, 2]);
    await keep(['d']);
    expect([await take('b'), await take('d'), await left()]).toEqual([false, true, 0]);
    await keep([]);
    const other = await clinic();
    await keep(['mine']);
    const theirs = { codeHash: 'mine', nowMs: now };
    expect(await store.write((db) => consumeRecoveryCode(db, other.clinicianId, theirs))).toBe(false);
  });

  it('frees the address of an account that has ended, and remembers it', async () => {
    const { clinicId } = await clinic();
    const email = newEmail();
    const first = await joinAs(clinicId, email);
    expect(await store.read((db) => isEmailTaken(db, email.toUpperCase()))).toBe(true);
    await store.write((db) => endAccount(db, clinicId, { clinicianId: first, nowMs: now }));
    expect(await store.read((db) => isEmailTaken(db, email))).toBe(false);
    const second = await joinAs(clinicId, email);
    expect(await store.read((db) => clinicianByEmail(db, email))).toMatchObject({ id: second });
    const shown = (await store.read((db) => colleaguesOf(db, clinicId))).filter(
      (each) => each.name === 'Ben',
    );
    expect(shown.map((each) => [each.email, each.endedAtMs === null]).sort()).toEqual([
      [email, false],
      [email, true],
    ]);
  });

  it('lists sign-ins that stand, and ends all but one', async () => {
    const { clinicianId } = await clinic();
    const begin = async (device: string, seenAtMs: number, expiresAtMs = now + 12 * hour) => {
      const tokenHash = randomUUID();
      const session = { tokenHash, clinicianId, formToken: 'form', device };
      await store.write((db) => beginSignIn(db, { ...session, nowMs: seenAtMs, expiresAtMs }));
      return tokenHash;
    };
    await begin('firefox windows', now - 2 * hour);
    const kept = await begin('safari iphone', now - 10);
    await begin('', now - 5);
    const listed = async () =>
      (await store.read((db) => signInsOf(db, clinicianId, { nowMs: now, idleMs: hour }))).map(
        ({ device }) => device,
      );
    expect(await listed(), 'not the one that was idle too long').toEqual(['', 'safari iphone']);
    expect(await store.write((db) => endOtherSignIns(db, clinicianId, kept))).toBe(2);
    expect(await listed()).toEqual(['safari iphone']);
  });

  it('lets what waits for an old address go to the new one, but for what is about the account', async () => {
    const { clinicId, clinicianId, email } = await clinic();
    const account = { clinicId, clinicianId, email };
    const changed = newEmail();
    const addressed = () =>
      store.read((db) =>
        db
          .selectFrom('delivery')
          .innerJoin('contact', 'contact.id', 'delivery.contactId')
          .select(['delivery.kind', 'contact.address', 'contact.endedWhy'])
          .where('delivery.clinicId', '=', clinicId)
          .orderBy('delivery.kind')
          .execute(),
      );
    await store.write(async (db) => {
      await notifyOfAccountChange(db, account, { news: 'email', nowMs: now }, secrets);
      const { contactId } = await db
        .selectFrom('delivery')
        .select('contactId')
        .where('clinicId', '=', clinicId)
        .executeTakeFirstOrThrow();
      const about = { key: randomUUID(), clinicId, patientId: null, kind: 'digest', subject: 's' } as const;
      const slot = { prescriptionId: null, slot: null, slotDueAtMs: null, caregiverId: null };
      const times = { forAtMs: now, nextAtMs: now, goodUntilMs: now + hour };
      await insertDeliveries(db, [{ ...about, ...slot, ...times, contactId }]);
      await setEmail(db, clinicianId, changed);
      await redirectToNewAddress(db, { ...account, email: changed }, now, secrets);
    });
    expect(await addressed()).toEqual([
      { kind: 'account', address: JSON.stringify(email), endedWhy: 'replaced' },
      { kind: 'digest', address: JSON.stringify(changed), endedWhy: null },
    ]);
  });
});

it('frees the addresses of accounts that had ended before', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-ended-'));
  try {
    const settings = { kind: 'sqlite', file: join(folder, 'clinic.db') } as const;
    const before = new Sqlite(settings.file);
    before.exec(await readFile(join(import.meta.dirname, 'released', '0008-note-findings.sql'), 'utf8'));
    before.exec('update clinician set endedAtMs = 1');
    before.close();
    const store = await openStore(settings);
    expect(await store.read((db) => isEmailTaken(db, 'ada@example.org'))).toBe(false);
    const [ada] = await store.read((db) => db.selectFrom('clinician').selectAll().execute());
    expect(ada).toMatchObject({ email: ada?.id, formerEmail: 'ada@example.org', noticesSeenAtMs: 0 });
    await store.close();
  } finally {
    await rm(folder, { recursive: true });
  }
});
