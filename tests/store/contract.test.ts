import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addAuditEntry, auditTrail } from '../../src/store/accounts/audit.js';
import {
  clinicianByEmail,
  consumeTotpStep,
  createFirstClinic,
  hasClinic,
  inviteFirstOwner,
  isOpenInvitation,
  setTotpSecret,
} from '../../src/store/accounts/clinicians.js';
import {
  beginSignIn,
  endAllSignIns,
  endSignIn,
  findSignIn,
  markSignInSeen,
} from '../../src/store/accounts/signInSessions.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { patientById, prescriptionById, prescriptionsOf, versionsOf } from '../../src/store/people/chart.js';
import {
  changePatient,
  createPatient,
  listPatients,
  type PatientDetails,
} from '../../src/store/people/patients.js';
import {
  changeState,
  createPrescription,
  deleteDraft,
  draftAt,
  type Signing,
  signVersion,
  writeDraft,
} from '../../src/store/prescribing/prescriptions.js';
import { databases, hasServer, whyNoServer } from './databases.js';

const hour = 3_600_000;
const now = Date.UTC(2026, 10, 25, 9);

const details = (name: string, more: Partial<PatientDetails> = {}): PatientDetails => ({
  name,
  spokenName: 'Rosa',
  sayAs: '',
  birthYear: 1944,
  language: 'en',
  zone: 'Europe/Vienna',
  phone: '',
  email: '',
  hearingNotes: '',
  goals: ['Look up at the birds'],
  ...more,
});

it('has a PostgreSQL server to run against', (context) => {
  if (!hasServer && process.env.CI === undefined) context.skip(whyNoServer);
  expect(hasServer, whyNoServer).toBe(true);
});

describe.each(databases)('the store on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  beforeAll(async () => {
    ({ store, close } = await open());
  });
  afterAll(() => close());

  /** A clinic with its owner, each under a name of its own. */
  async function clinic(): Promise<{ clinicId: string; clinicianId: string; email: string }> {
    const tokenHash = randomUUID();
    const email = `${randomUUID()}@example.org`;
    const made = await store.write(async (db) => {
      await inviteFirstOwner(db, { tokenHash, nowMs: now, expiresAtMs: now + hour });
      return createFirstClinic(db, {
        tokenHash,
        clinicName: 'Quillmere',
        zone: 'Europe/Vienna',
        name: 'Ada Brandt',
        email: email.toUpperCase(),
        passwordHash: 'hash',
        nowMs: now,
      });
    });
    return made === null ? expect.unreachable('the invitation is new') : { ...made, email };
  }

  const signing = (signedBy: string, more: Partial<Signing> = {}): Signing => ({
    title: 'Morning',
    content: '{}',
    screeningId: null,
    reason: 'first program',
    signedBy,
    nowMs: now,
    ...more,
  });

  it('lets an invitation be used once and in time', async () => {
    const invite = { tokenHash: randomUUID(), nowMs: now, expiresAtMs: now + hour };
    await store.write((db) => inviteFirstOwner(db, invite));
    const first = { ...invite, clinicName: 'C', zone: 'UTC', name: 'N', passwordHash: 'h' };
    const useIt = (email: string, nowMs: number) =>
      store.write((db) => createFirstClinic(db, { ...first, email, nowMs }));
    expect(await store.read((db) => isOpenInvitation(db, invite.tokenHash, now + hour))).toBe(false);
    expect(await useIt('late@example.org', now + hour)).toBeNull();
    expect(await store.read((db) => isOpenInvitation(db, invite.tokenHash, now))).toBe(true);
    expect(await useIt('once@example.org', now)).not.toBeNull();
    expect(await useIt('twice@example.org', now)).toBeNull();
    expect(await store.read(hasClinic)).toBe(true);
    const older = randomUUID();
    await store.write((db) => inviteFirstOwner(db, { ...invite, tokenHash: older }));
    await store.write((db) => inviteFirstOwner(db, { ...invite, tokenHash: randomUUID() }));
    expect(await store.read((db) => isOpenInvitation(db, older, now)), 'a newer link ends it').toBe(false);
  });

  it('knows accounts by address in any case, and uses no code twice', async () => {
    const { clinicianId, email } = await clinic();
    const found = await store.read((db) => clinicianByEmail(db, email.toUpperCase()));
    expect(found).toMatchObject({
      id: clinicianId,
      name: 'Ada Brandt',
      role: 'owner',
      clinicName: 'Quillmere',
    });
    await store.write((db) => setTotpSecret(db, clinicianId, 'SECRET'));
    expect(await store.write((db) => consumeTotpStep(db, clinicianId, 100))).toBe(true);
    expect(await store.write((db) => consumeTotpStep(db, clinicianId, 100))).toBe(false);
    expect(await store.write((db) => consumeTotpStep(db, clinicianId, 99))).toBe(false);
    expect(await store.write((db) => consumeTotpStep(db, clinicianId, 101))).toBe(true);
  });

  it('ends sign-ins by time, by idleness, one by one and all at once', async () => {
    const { clinicianId } = await clinic();
    const begin = async () => {
      const tokenHash = randomUUID();
      const session = { tokenHash, clinicianId, formToken: 'form', nowMs: now, expiresAtMs: now + 8 * hour };
      await store.write((db) => beginSignIn(db, session));
      return tokenHash;
    };
    const who = (tokenHash: string, nowMs: number) =>
      store.read((db) => findSignIn(db, { tokenHash, nowMs, idleMs: hour }));
    const token = await begin();
    expect(await who(token, now)).toMatchObject({ clinician: { id: clinicianId }, formToken: 'form' });
    expect(await who(token, now + hour), 'idle').toBeNull();
    await store.write((db) => markSignInSeen(db, token, now + hour - 1));
    expect(await who(token, now + hour)).not.toBeNull();
    await store.write((db) => markSignInSeen(db, token, now + 8 * hour - 1));
    expect(await who(token, now + 8 * hour), 'over').toBeNull();
    const other = await begin();
    await store.write((db) => endSignIn(db, token));
    expect(await who(token, now)).toBeNull();
    expect(await who(other, now)).not.toBeNull();
    await store.write((db) => endAllSignIns(db, clinicianId));
    expect(await who(other, now)).toBeNull();
  });

  it('gives names back as they were typed, whatever they hold', async () => {
    const { clinicId } = await clinic();
    // PostgreSQL text holds anything but U+0000 (its manual, "Character Types"); pages refuse that one.
    const names = fc
      .string({ unit: 'binary', minLength: 1, maxLength: 500 })
      .map((name) => name.replaceAll('\u0000', '·').replace(/\p{Cs}/gu, '·'));
    await fc.assert(
      fc.asyncProperty(names, async (name) => {
        const id = await store.write((db) => createPatient(db, clinicId, details(name), now));
        expect((await store.read((db) => patientById(db, clinicId, id)))?.name).toBe(name);
      }),
      { numRuns: 40 },
    );
  });

  it('finds people by any part of their names, without accents, page by page', async () => {
    const { clinicId } = await clinic();
    const names = ['José Ñandú', 'Anna 100% Berg', 'Under_score', 'Ex!claim', 'back\\slash'];
    const crowd = Array.from({ length: 120 }, (_, index) => `Person ${String(index).padStart(3, '0')}`);
    await store.write(async (db) => {
      for (const name of [...names, ...crowd]) await createPatient(db, clinicId, details(name), now);
    });
    const find = async (search: string) =>
      (await store.read((db) => listPatients(db, clinicId, search))).patients.map(({ name }) => name);
    expect(await find('nandu JOSE')).toEqual(['José Ñandú']);
    expect(await find('100%')).toEqual(['Anna 100% Berg']);
    expect(await find('_')).toEqual(['Under_score']);
    expect(await find('!')).toEqual(['Ex!claim']);
    expect(await find('\\')).toEqual(['back\\slash']);
    expect(await find('nobody')).toEqual([]);
    const seen: string[] = [];
    for (let last: string | undefined, hasMore = true; hasMore; ) {
      const page = await store.read((db) => listPatients(db, clinicId, 'person', last));
      seen.push(...page.patients.map(({ name }) => name));
      ({ hasMore } = page);
      last = page.patients.at(-1)?.id;
    }
    expect(seen).toEqual(crowd);
  });

  it('lets the second of two changes of a person know', async () => {
    const { clinicId } = await clinic();
    const id = await store.write((db) => createPatient(db, clinicId, details('Before'), now));
    const change = (revision: number, name: string) =>
      store.write((db) => changePatient(db, clinicId, { id, revision, details: details(name), nowMs: 1 }));
    expect(await change(1, 'First')).toBe(true);
    expect(await change(1, 'Second')).toBe(false);
    expect(await store.read((db) => patientById(db, clinicId, id))).toMatchObject({
      name: 'First',
      revision: 2,
      goals: ['Look up at the birds'],
    });
  });

  it('shows nothing of one clinic to another', async () => {
    const [ours, theirs] = [await clinic(), await clinic()];
    const patientId = await store.write((db) => createPatient(db, ours.clinicId, details('Ours'), now));
    const prescriptionId = await store.write((db) =>
      createPrescription(db, patientId, signing(ours.clinicianId)),
    );
    await store.write((db) =>
      addAuditEntry(db, {
        clinicId: ours.clinicId,
        patientId,
        clinicianId: ours.clinicianId,
        action: 'patient-added',
        subject: patientId,
        atMs: now,
      }),
    );
    const seenBy = async (clinicId: string) =>
      store.read(async (db) => ({
        person: (await patientById(db, clinicId, patientId)) !== null,
        listed: (await listPatients(db, clinicId, '')).patients.length,
        prescription: (await prescriptionById(db, clinicId, prescriptionId)) !== null,
        prescriptions: (await prescriptionsOf(db, clinicId, patientId)).length,
        trail: (await auditTrail(db, clinicId, {})).entries.length,
        trailOfPerson: (await auditTrail(db, clinicId, { patientId })).entries.length,
      }));
    expect(await seenBy(ours.clinicId)).toEqual({
      person: true,
      listed: 1,
      prescription: true,
      prescriptions: 1,
      trail: 1,
      trailOfPerson: 1,
    });
    expect(await seenBy(theirs.clinicId)).toEqual({
      person: false,
      listed: 0,
      prescription: false,
      prescriptions: 0,
      trail: 0,
      trailOfPerson: 0,
    });
    const change = { nowMs: 1, id: patientId, revision: 1, details: details('Theirs') };
    expect(await store.write((db) => changePatient(db, theirs.clinicId, change))).toBe(false);
  });

  it('numbers versions without a gap and loses none, however two clinicians take turns', async () => {
    const { clinicId, clinicianId } = await clinic();
    const patientId = await store.write((db) => createPatient(db, clinicId, details('P'), now));
    await fc.assert(
      fc.asyncProperty(fc.array(fc.boolean(), { maxLength: 12 }), async (turns) => {
        const id = await store.write((db) => createPrescription(db, patientId, signing(clinicianId)));
        // Each one signs on top of what it saw last, and looks again only when it was refused.
        const seen = { true: 1, false: 1 };
        const signed = ['first program'];
        for (const [turn, who] of turns.entries()) {
          const key = who ? 'true' : 'false';
          const reason = `turn ${turn}`;
          const number = await store.write((db) =>
            signVersion(db, id, seen[key], signing(clinicianId, { reason })),
          );
          if (number !== null) signed.push(reason);
          seen[key] = number ?? (await store.read((db) => versionsOf(db, id)))[0]?.number ?? 0;
        }
        const versions = (await store.read((db) => versionsOf(db, id))).reverse();
        expect(versions.map(({ reason }) => reason)).toEqual(signed);
        expect(versions.map(({ number }) => number)).toEqual(signed.map((_, index) => index + 1));
      }),
      { numRuns: 15 },
    );
  });

  it('accepts one of many signatures that arrive at once on the same version', async () => {
    const { clinicId, clinicianId } = await clinic();
    const patientId = await store.write((db) => createPatient(db, clinicId, details('P'), now));
    const id = await store.write((db) => createPrescription(db, patientId, signing(clinicianId)));
    const numbers = await Promise.all(
      Array.from({ length: 8 }, () => store.write((db) => signVersion(db, id, 1, signing(clinicianId)))),
    );
    expect(numbers.filter((number) => number === 2)).toHaveLength(1);
    expect(numbers.filter((number) => number === null)).toHaveLength(7);
    expect(await store.read((db) => versionsOf(db, id))).toHaveLength(2);
  });

  it('pauses, resumes and ends, and lets nothing follow the end', async () => {
    const { clinicId, clinicianId } = await clinic();
    const patientId = await store.write((db) => createPatient(db, clinicId, details('P'), now));
    const id = await store.write((db) => createPrescription(db, patientId, signing(clinicianId)));
    const to = (state: 'active' | 'paused' | 'ended') =>
      store.write((db) =>
        changeState(db, { prescriptionId: id, state, clinicianId, reason: 'r', nowMs: now }),
      );
    expect(await to('active'), 'already').toBe(false);
    expect(await to('paused')).toBe(true);
    expect(await to('active')).toBe(true);
    expect(await to('ended')).toBe(true);
    expect(await to('active')).toBe(false);
    expect(await store.write((db) => signVersion(db, id, 1, signing(clinicianId)))).toBeNull();
  });

  it('keeps unsigned work apart for each clinician and prescription', async () => {
    const { clinicId, clinicianId } = await clinic();
    const patientId = await store.write((db) => createPatient(db, clinicId, details('P'), now));
    const place = { clinicianId, patientId, prescriptionId: null };
    const draft = { content: '{"a":1}', basedOnNumber: 0, updatedAtMs: now };
    await store.write((db) => writeDraft(db, place, draft));
    await store.write((db) => writeDraft(db, place, { ...draft, content: '{"a":2}' }));
    await store.write((db) => writeDraft(db, { ...place, prescriptionId: 'p' }, draft));
    expect((await store.read((db) => draftAt(db, place)))?.content).toBe('{"a":2}');
    await store.write((db) => deleteDraft(db, place));
    expect(await store.read((db) => draftAt(db, place))).toBeNull();
    expect(await store.read((db) => draftAt(db, { ...place, prescriptionId: 'p' }))).not.toBeNull();
  });

  it('refuses to change what was written once, whoever asks', async () => {
    const { clinicId, clinicianId } = await clinic();
    const patientId = await store.write((db) => createPatient(db, clinicId, details('P'), now));
    const id = await store.write((db) => createPrescription(db, patientId, signing(clinicianId)));
    const entry = { clinicId, patientId, clinicianId, action: 'a', subject: id, atMs: now };
    await store.write((db) => addAuditEntry(db, entry));
    const attempts = [
      sql`update "prescriptionVersion" set "content" = 'other'`,
      sql`delete from "prescriptionVersion"`,
      sql`update "auditEntry" set "action" = 'other'`,
      sql`delete from "auditEntry"`,
      ...(store.kind === 'postgres' ? [sql`truncate "auditEntry"`] : []),
    ];
    for (const attempt of attempts) {
      await expect(store.write((db) => attempt.execute(db))).rejects.toThrow('never changed');
    }
    expect(await store.read((db) => versionsOf(db, id))).toMatchObject([{ content: '{}' }]);
  });

  it('keeps all of a piece of work or nothing', async () => {
    const { clinicId } = await clinic();
    const half = store.write(async (db) => {
      await createPatient(db, clinicId, details('Half'), now);
      throw new RangeError('something else went wrong');
    });
    await expect(half).rejects.toThrow('something else went wrong');
    expect(await store.read((db) => listPatients(db, clinicId, 'half'))).toMatchObject({ patients: [] });
  });
});
