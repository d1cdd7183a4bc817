import { randomUUID } from 'node:crypto';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/engine/openStore.js';
import {
  addOwnMeasure,
  endOwnMeasure,
  measuresTakenOf,
  ownMeasuresOf,
  saveMeasure,
  withdrawMeasure,
} from '../../src/store/followup/measures.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25, 9);

describe.each(databases)('what was measured, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let clinicId: string;
  let clinicianId: string;
  beforeAll(async () => {
    ({ store, close } = await open());
    ({ clinicId, clinicianId } = await store.write((db) => makeClinic(db, now)));
  });
  afterAll(() => close());

  const person = (of = clinicId) => store.write((db) => makePatient(db, of, now));
  const keep = (patientId: string, more: object = {}) => {
    const entry = {
      ...{ id: randomUUID(), patientId, measureId: 'height', value: 162.56, entered: '64 in' },
      ...{ takenOn: '2026-11-25', note: '', clinicianId, nowMs: now, ...more },
    };
    return store.write((db) => saveMeasure(db, entry));
  };
  const listed = (patientId: string) => store.read((db) => measuresTakenOf(db, patientId));
  const withdraw = (patientId: string, id: string, reason = 'Mistyped') =>
    store.write((db) => withdrawMeasure(db, patientId, { id, reason, clinicianId, nowMs: now + 5 }));

  it('is kept exactly, with what was typed, and listed by the day it was taken', async () => {
    const patientId = await person();
    await keep(patientId, { value: 0.1, takenOn: '2026-11-24', nowMs: now + 2 });
    await keep(patientId, { takenOn: '2026-10-01', nowMs: now + 3 });
    await keep(patientId, { value: 1_234_567.89, takenOn: '2026-11-24', nowMs: now + 1 });
    expect(await listed(patientId)).toMatchObject([
      { value: 162.56, entered: '64 in', takenOn: '2026-10-01', by: 'Ada', withdrawn: null },
      { value: 1_234_567.89, takenOn: '2026-11-24' },
      { value: 0.1, takenOn: '2026-11-24' },
    ]);
    expect(await listed(await person()), 'of somebody else').toEqual([]);
  });

  it('is kept once when the same is sent twice, and loses nothing when another comes under its id', async () => {
    const patientId = await person();
    const first = await keep(patientId);
    expect(first.isNew).toBe(true);
    expect(await keep(patientId, { id: first.id, nowMs: now + 9 })).toEqual({ id: first.id, isNew: false });
    const other = await keep(patientId, { id: first.id, value: 163, nowMs: now + 1 });
    expect(other).toMatchObject({ isNew: true, id: expect.not.stringContaining(first.id) });
    expect((await listed(patientId)).map(({ value }) => value)).toEqual([162.56, 163]);
    const stranger = await person();
    expect((await keep(stranger, { id: first.id })).isNew, 'of somebody else').toBe(true);
    expect(await listed(stranger)).toHaveLength(1);
  });

  it('stays on record when it is withdrawn, once, with the reason', async () => {
    const patientId = await person();
    const { id } = await keep(patientId);
    expect(await withdraw(await person(), id), 'through somebody else').toBe(false);
    expect(await withdraw(patientId, randomUUID())).toBe(false);
    expect(await withdraw(patientId, id)).toBe(true);
    expect(await withdraw(patientId, id, 'Another reason')).toBe(false);
    const withdrawn = { reason: 'Mistyped', by: 'Ada', atMs: now + 5 };
    expect(await listed(patientId)).toMatchObject([{ id, value: 162.56, withdrawn }]);
  });

  it('is never changed or taken away by anybody', async () => {
    const patientId = await person();
    await withdraw(patientId, (await keep(patientId)).id);
    for (const change of [
      sql`update "measureTaken" set "value" = 1`,
      sql`delete from "measureTaken"`,
      sql`update "measureWithdrawn" set "reason" = 'x'`,
      sql`delete from "measureWithdrawn"`,
    ]) {
      await expect(store.write((db) => change.execute(db))).rejects.toThrow('never changed');
    }
  });

  it('may be of the clinic’s own making, or an activity of one patient, and ends without being lost', async () => {
    const [rosa, tom] = [await person(), await person()];
    const grip = { name: 'Grip', unit: 'kg', least: 0, most: 90.5, better: 'higher' } as const;
    const wash = { name: 'Hang up the wash', unit: '', least: 0, most: 10, better: 'higher' } as const;
    const add = (own: typeof grip | typeof wash, patientId: string | null, nowMs: number) =>
      store.write((db) => addOwnMeasure(db, { ...own, patientId, clinicId, clinicianId, nowMs }));
    const gripId = await add(grip, null, now);
    const washId = await add(wash, rosa, now + 1);
    const own = (patientId: string, of = clinicId) =>
      store.read((db) => ownMeasuresOf(db, { clinicId: of, patientId }));
    expect(await own(rosa)).toEqual([
      { id: gripId, patientId: null, ...grip, endedAtMs: null },
      { id: washId, patientId: rosa, ...wash, endedAtMs: null },
    ]);
    expect((await own(tom)).map(({ id }) => id)).toEqual([gripId]);
    const other = await store.write((db) => makeClinic(db, now, 'eve@example.org'));
    expect(await own(rosa, other.clinicId)).toEqual([]);
    const end = (id: string, patientId: string, of = clinicId) =>
      store.write((db) => endOwnMeasure(db, { clinicId: of, patientId }, { id, nowMs: now + 7 }));
    expect(await end(washId, tom), 'through somebody else').toBe(false);
    expect(await end(gripId, tom, other.clinicId), 'through another clinic').toBe(false);
    expect([await end(washId, rosa), await end(washId, rosa), await end(gripId, tom)]).toEqual([
      true,
      false,
      true,
    ]);
    expect((await own(rosa)).map(({ endedAtMs }) => endedAtMs)).toEqual([now + 7, now + 7]);
  });
});
