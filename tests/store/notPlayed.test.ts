import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { attentionOf } from '../../src/store/attention/attention.js';
import { findUnplayable, lockPatient, refreshAttention } from '../../src/store/attention/patientChanged.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { listUnplayablePeriods } from '../../src/store/people/chart.js';
import { listRunningVersions, saveUnplayable } from '../../src/store/prescribing/notPlayed.js';
import { changeState, createPrescription, signVersion } from '../../src/store/prescribing/prescriptions.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25, 9);

describe.each(databases)('programs that cannot be played, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let clinicId: string;
  let clinicianId: string;
  beforeAll(async () => {
    ({ store, close } = await open());
    ({ clinicId, clinicianId } = await store.write((db) => makeClinic(db, now)));
  });
  afterAll(() => close());

  const signing = (screeningId: string) => {
    return { title: 'Home', content: '{}', screeningId, reason: 'r', signedBy: clinicianId, nowMs: now };
  };
  const withProgram = () =>
    store.write(async (db) => {
      const patientId = await makePatient(db, clinicId, now);
      await lockPatient(db, patientId);
      const answered = { patientId, answers: '{}', stops: false, clinicianId, nowMs: now };
      const screeningId = await addScreening(db, answered);
      const id = await createPrescription(db, patientId, signing(screeningId));
      return { patientId, id, screeningId };
    });
  const noted = (patientId: string, prescriptionIds: readonly string[], nowMs = now) =>
    store.write((db) => saveUnplayable(db, patientId, { prescriptionIds, nowMs }));
  const kindsOf = async (patientId: string) => {
    const { first } = await store.read((db) => attentionOf(db, clinicId, 1_000));
    return first.filter((each) => each.patientId === patientId).map(({ kind }) => kind);
  };
  const known = (patientId: string) => store.read((db) => findUnplayable(db, [patientId]));

  it('stay noted through whatever else changes, since the moment at which it was found', async () => {
    const { patientId, id } = await withProgram();
    await noted(patientId, [id]);
    await store.write((db) => refreshAttention(db, patientId));
    await noted(patientId, [id], now + 60_000);
    expect([...(await known(patientId))]).toEqual([[id, now]]);
    expect(await kindsOf(patientId)).toEqual(['not-playable']);
  });

  it('come before what can wait, and are of nobody else', async () => {
    const other = await withProgram();
    await store.write((db) =>
      changeState(db, {
        prescriptionId: other.id,
        state: 'paused',
        clinicianId,
        reason: 'r',
        nowMs: now - 1,
      }),
    );
    const { patientId, id } = await withProgram();
    await noted(patientId, [id], now + 1);
    const { first } = await store.read((db) => attentionOf(db, clinicId, 1_000));
    const kinds = first.map(({ kind }) => kind);
    expect(kinds.lastIndexOf('not-playable')).toBeLessThan(kinds.indexOf('paused'));
    expect(await known(other.patientId)).toEqual(new Map());
  });

  it('are let go of when a version is signed, the program is paused or ended, or it was found to be right', async () => {
    const { patientId, id, screeningId } = await withProgram();
    await noted(patientId, [id]);
    await store.write((db) => signVersion(db, id, 1, signing(screeningId)));
    expect(await kindsOf(patientId)).toEqual([]);
    await noted(patientId, [id]);
    await noted(patientId, []);
    expect(await kindsOf(patientId)).toEqual([]);
    await noted(patientId, [id]);
    const step = { prescriptionId: id, clinicianId, reason: 'r', nowMs: now };
    await store.write((db) => changeState(db, { ...step, state: 'paused' }));
    expect(await kindsOf(patientId)).toEqual(['paused']);
    expect(await known(patientId)).toEqual(new Map());
  });

  it('leave when they could not be played, each time, whatever ended it', async () => {
    const { patientId, id, screeningId } = await withProgram();
    const hour = 60 * 60_000;
    await noted(patientId, [id], now);
    await noted(patientId, [id], now + hour);
    await noted(patientId, [], now + 2 * hour);
    await noted(patientId, [id], now + 3 * hour);
    const signed = { ...signing(screeningId), nowMs: now + 4 * hour };
    await store.write((db) => signVersion(db, id, 1, signed));
    await noted(patientId, [id], now + 5 * hour);
    const step = { prescriptionId: id, clinicianId, reason: 'r', nowMs: now + 6 * hour };
    await store.write((db) => changeState(db, { ...step, state: 'paused' }));
    await store.write((db) => changeState(db, { ...step, state: 'active', nowMs: now + 7 * hour }));
    const stretches = await store.read((db) => listUnplayablePeriods(db, patientId));
    expect(stretches.get(id)).toEqual([
      { fromMs: now, untilMs: now + 2 * hour },
      { fromMs: now + 3 * hour, untilMs: now + 4 * hour },
      { fromMs: now + 5 * hour, untilMs: now + 6 * hour },
    ]);
    expect(await known(patientId)).toEqual(new Map());
  });

  it('are looked for among those that run, a few at a time, each once', async () => {
    const ids = new Set<string>();
    for (let found = await next(''); found.lastId !== null; found = await next(found.lastId))
      for (const { prescriptionId } of found.running) ids.add(prescriptionId);
    const running = await store.read((db) =>
      db.selectFrom('prescription').select('id').where('state', '=', 'active').execute(),
    );
    expect([...ids].sort()).toEqual(running.map(({ id }) => id).sort());
  });

  const next = (afterId: string) => store.read((db) => listRunningVersions(db, afterId, 2));
});
