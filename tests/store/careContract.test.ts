import { randomUUID } from 'node:crypto';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
  accessKeysOf,
  endAccessKey,
  endAllAccessKeys,
  findKeyOwner,
  makeAccessKey,
} from '../../src/store/accounts/accessKeys.js';
import { addAuditEntry, hasOpened } from '../../src/store/accounts/audit.js';
import { endAccount } from '../../src/store/accounts/colleagues.js';
import { attentionOf } from '../../src/store/attention/attention.js';
import { lockPatient } from '../../src/store/attention/patientChanged.js';
import type { Store } from '../../src/store/engine/openStore.js';
import {
  addCaregiver,
  caregiversOf,
  consentsOf,
  endCaregiver,
  recordConsent,
} from '../../src/store/people/caregivers.js';
import { newestScreening, screeningsOf } from '../../src/store/people/chart.js';
import {
  clinicProgramsOf,
  endClinicProgram,
  saveClinicProgram,
} from '../../src/store/prescribing/clinicPrograms.js';
import {
  changeState,
  createPrescription,
  findPrescriptionOfWork,
  signVersion,
} from '../../src/store/prescribing/prescriptions.js';
import type { AttentionKind } from '../../src/store/schema/peopleSchema.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25, 9);

describe.each(databases)('what hangs on a person, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let clinicId: string;
  let clinicianId: string;
  beforeAll(async () => {
    ({ store, close } = await open());
    ({ clinicId, clinicianId } = await clinic('ada@example.org'));
  });
  afterAll(() => close());

  const clinic = (email: string) => store.write((db) => makeClinic(db, now, email));
  const person = () => store.write((db) => makePatient(db, clinicId, now));
  const screen = (patientId: string, answers: string, stops = false) =>
    store.write(async (db) => {
      await lockPatient(db, patientId);
      return addScreening(db, { patientId, answers, stops, clinicianId, nowMs: now });
    });
  const signing = (screeningId: string | null) => ({
    title: 'Morning',
    content: '{}',
    screeningId,
    reason: 'r',
    signedBy: clinicianId,
    nowMs: now,
  });

  it('keeps every interview, the newest ruling, also when many come at once', async () => {
    const patientId = await person();
    expect(await store.read((db) => newestScreening(db, patientId))).toBeNull();
    await Promise.all(Array.from({ length: 8 }, (_, index) => screen(patientId, `{"n":${index}}`)));
    const last = await screen(patientId, '{"n":"last"}');
    const all = await store.read((db) => screeningsOf(db, patientId));
    expect(all).toHaveLength(9);
    expect(all[0]).toMatchObject({ id: last, answers: '{"n":"last"}', clinicianName: 'Ada' });
    const change = sql`update "screening" set "answers" = '{}'`;
    await expect(store.write((db) => change.execute(db))).rejects.toThrow('never changed');
  });

  it('knows who needs attention and why, whatever the clocks say', async () => {
    const patientId = await person();
    const reasons = async () => {
      const { first } = await store.read((db) => attentionOf(db, clinicId, 1000));
      return first.filter((each) => each.patientId === patientId).map(({ kind }) => kind);
    };
    expect(await reasons()).toEqual(['to-screen']);
    const first = await screen(patientId, '{}');
    expect(await reasons()).toEqual(['to-prescribe']);
    const id = await store.write((db) => createPrescription(db, patientId, signing(first)));
    expect(await reasons()).toEqual([]);
    const second = await screen(patientId, '{}');
    expect(await reasons(), 'at the same millisecond').toEqual(['screened-again']);
    await store.write((db) => signVersion(db, id, 1, signing(second)));
    expect(await reasons()).toEqual([]);
    const step = { prescriptionId: id, clinicianId, reason: 'r', nowMs: now };
    await store.write((db) => changeState(db, { ...step, state: 'paused' }));
    expect(await reasons()).toEqual(['paused']);
    await store.write((db) => changeState(db, { ...step, state: 'ended' }));
    expect(await reasons()).toEqual([]);
    const other = await clinic('eve@example.org');
    expect(await store.read((db) => attentionOf(db, other.clinicId, 10))).toEqual({ first: [], total: 0 });
    const some = await store.read((db) => attentionOf(db, clinicId, 1));
    expect(some.first).toHaveLength(1);
    const all = await store.read((db) => attentionOf(db, clinicId, 1000));
    expect(some.total).toBe(all.first.length);
    await screen(patientId, '{}', true);
    expect(await reasons(), 'a doctor first').toEqual(['stopped']);
    const later = await person();
    await screen(later, '{}', true);
    const { first: front } = await store.read((db) => attentionOf(db, clinicId, 2));
    expect(
      front.map(({ kind }) => kind),
      'before everyone who has waited longer',
    ).toEqual(['stopped', 'stopped']);
  });

  it('puts every warning sign before all else, and leaves none out however few are asked for', async () => {
    const crowd = await clinic('crowd@example.org');
    const add = (kind: AttentionKind, sinceMs: number) =>
      store.write(async (db) => {
        const patientId = await makePatient(db, crowd.clinicId, now);
        await db.deleteFrom('attention').where('patientId', '=', patientId).execute();
        const reason = { clinicId: crowd.clinicId, patientId, kind, subject: patientId, sinceMs };
        await db.insertInto('attention').values(reason).execute();
      });
    for (let index = 0; index < 20; index += 1)
      await add(index % 2 === 0 ? 'screening-damaged' : 'not-playable', now - index);
    await add('urgent-note', now + 1);
    await add('warning-sign', now + 3);
    await add('warning-sign', now + 2);
    const warnings = ['warning-sign', 'warning-sign', 'urgent-note'];
    for (const most of [1, 2, 3, 12, 100]) {
      const { first, total } = await store.read((db) => attentionOf(db, crowd.clinicId, most));
      expect(
        first.slice(0, 3).map(({ kind }) => kind),
        `of ${most}`,
      ).toEqual(warnings);
      expect(first).toHaveLength(Math.min(23, Math.max(3, most)));
      expect(total).toBe(23);
    }
  });

  it('makes one prescription of one piece of work, however often it comes', async () => {
    const patientId = await person();
    const workId = randomUUID();
    const make = () =>
      store.write(async (db) => {
        await lockPatient(db, patientId);
        const earlier = await findPrescriptionOfWork(db, workId, patientId);
        return earlier ?? createPrescription(db, patientId, signing(null), workId);
      });
    expect(new Set(await Promise.all([make(), make(), make(), make()])).size).toBe(1);
  });

  it('keeps what was agreed to, the last word ruling for each kind and caregiver', async () => {
    const patientId = await person();
    const details = { name: 'Tom', relation: 'son', phone: '', email: '' };
    const caregiverId = await store.write((db) =>
      addCaregiver(db, patientId, details, { personId: null, nowMs: now }),
    );
    expect(await store.read((db) => consentsOf(db, patientId)), 'nothing is given unsaid').toEqual([]);
    const say = (isGiven: boolean, more: object = {}) =>
      store.write(async (db) => {
        await lockPatient(db, patientId);
        const said = {
          patientId,
          caregiverId,
          kind: 'caregiver-reminded',
          isGiven,
          onDate: '2026-11-25',
        } as const;
        await recordConsent(db, { ...said, note: '', clinicianId, nowMs: now, ...more });
      });
    await say(true);
    await say(true, { kind: 'reminders', caregiverId: null });
    await say(false);
    const found = await store.read((db) => consentsOf(db, patientId));
    expect(found.map(({ kind, isGiven }) => [kind, isGiven]).sort()).toEqual([
      ['caregiver-reminded', false],
      ['reminders', true],
    ]);
    const change = sql`delete from "consent"`;
    await expect(store.write((db) => change.execute(db))).rejects.toThrow('never changed');
    expect(await store.write((db) => endCaregiver(db, patientId, { id: caregiverId, nowMs: now }))).toBe(
      true,
    );
    expect(await store.write((db) => endCaregiver(db, patientId, { id: caregiverId, nowMs: now }))).toBe(
      false,
    );
    expect(await store.read((db) => caregiversOf(db, patientId))).toEqual([]);
  });

  it('lets a key act for its clinician until it, or her account, has ended', async () => {
    const made = await clinic('bea@example.org');
    const key = { clinicianId: made.clinicianId, name: 'Records', mayWrite: true, nowMs: now };
    const make = (tokenHash: string) => store.write((db) => makeAccessKey(db, { ...key, tokenHash }));
    const id = await make('first');
    await make('second');
    await make('third');
    const actsFor = async (tokenHash: string) =>
      (await store.read((db) => findKeyOwner(db, tokenHash)))?.clinician.email ?? null;
    expect(await actsFor('first')).toBe('bea@example.org');
    expect(await actsFor('guess')).toBeNull();
    expect(await store.write((db) => endAccessKey(db, clinicianId, { id, nowMs: now })), 'not hers').toBe(
      false,
    );
    expect(await store.write((db) => endAccessKey(db, made.clinicianId, { id, nowMs: now }))).toBe(true);
    expect(await actsFor('first')).toBeNull();
    await store.write((db) => endAccount(db, made.clinicId, { clinicianId: made.clinicianId, nowMs: now }));
    expect(await actsFor('second'), 'her account has ended').toBeNull();
    await store.write((db) => endAllAccessKeys(db, made.clinicianId, now));
    expect(await store.read((db) => accessKeysOf(db, made.clinicianId))).toEqual([]);
  });

  it('keeps a clinic’s own programs from other clinics', async () => {
    const program = { clinicId, title: 'Our start', content: '{}', clinicianId, nowMs: now };
    const id = await store.write((db) => saveClinicProgram(db, program));
    expect(await store.read((db) => clinicProgramsOf(db, clinicId))).toMatchObject([{ id, by: 'Ada' }]);
    const other = await clinic('cleo@example.org');
    expect(await store.read((db) => clinicProgramsOf(db, other.clinicId))).toEqual([]);
    const end = (by: string) => store.write((db) => endClinicProgram(db, by, { id, nowMs: now }));
    expect([await end(other.clinicId), await end(clinicId), await end(clinicId)]).toEqual([
      false,
      true,
      false,
    ]);
  });

  it('tells whether somebody has opened a record lately', async () => {
    const patientId = await person();
    const opened = (sinceMs: number) =>
      store.read((db) => hasOpened(db, { clinicianId, patientId, sinceMs }));
    expect(await opened(0)).toBe(false);
    const entry = { clinicId, clinicianId, patientId, subject: patientId, atMs: now };
    await store.write((db) => addAuditEntry(db, { ...entry, action: 'patient-added' }));
    expect(await opened(0), 'adding is no reading').toBe(false);
    await store.write((db) => addAuditEntry(db, { ...entry, action: 'patient-read' }));
    expect([await opened(now), await opened(now + 1)]).toEqual([true, false]);
  });
});
