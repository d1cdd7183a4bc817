import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import type { Kysely } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { sumUp } from '../../src/listening/listened.js';
import { type ListeningStep, listeningSteps } from '../../src/listening/report.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { listenedOf } from '../../src/store/followup/history.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import { listHeardSince, type NewStep, saveSteps } from '../../src/store/listening/listeningRecords.js';
import { createPrescription } from '../../src/store/prescribing/prescriptions.js';
import { sumUpAll } from '../../src/store/schema/migrations/sumUpAll.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25, 9);

describe.each(databases)('listenings summed up, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let made: { clinicId: string; clinicianId: string };
  beforeAll(async () => {
    ({ store, close } = await open());
    made = await store.write((db) => makeClinic(db, now));
  });
  afterAll(() => close());

  /** Somebody new who listens, and how one step of theirs is written down. */
  const listener = () =>
    store.write(async (db) => {
      const { clinicId, clinicianId } = made;
      const patientId = await makePatient(db, clinicId, now);
      const [tokenHash, codeHash] = [randomUUID(), randomUUID()];
      const link = { clinicId, owner: { patientId }, tokenHash, codeHash, pinHash: null, clinicianId };
      const linkId = await makeLink(db, { ...link, nowMs: now, expiresAtMs: now + 1_000_000 });
      const signing = { title: 'T', content: '{}', screeningId: null, reason: 'r', signedBy: clinicianId };
      const prescriptionId = await createPrescription(db, patientId, { ...signing, nowMs: now });
      const stepOf = (listeningId: string, step: ListeningStep, positionMs: number): NewStep => ({
        ...{ id: randomUUID(), listeningId, patientId, prescriptionId, versionNumber: 1, sessionNumber: 1 },
        ...{ slot: '2026-11-25#1', linkId, caregiverId: null, step, positionMs },
        ...{ atMs: now + positionMs, receivedAtMs: now + positionMs },
      });
      return { patientId, stepOf };
    });
  const kept = (patientId: string) => store.read((db) => listenedOf(db, patientId));
  const summedUp = async (patientId: string) => {
    const { steps } = await store.read((db) => listHeardSince(db, patientId, 0));
    return sumUp(
      steps.map(({ id: _id, patientId: _patientId, linkId: _linkId, receivedAtMs: _at, ...step }) => step),
    );
  };

  it('follow their steps, in whatever parts and order these come', async () => {
    const told = fc.array(
      fc.record({
        listening: fc.integer({ min: 0, max: 2 }),
        step: fc.constantFrom(...listeningSteps),
        positionMs: fc.integer({ min: 0, max: 900_000 }),
      }),
      { minLength: 1, maxLength: 12 },
    );
    await fc.assert(
      fc.asyncProperty(told, fc.integer({ min: 1, max: 5 }), async (steps, atOnce) => {
        const { patientId, stepOf } = await listener();
        const ids = [randomUUID(), randomUUID(), randomUUID()];
        const rows = steps.map(({ listening, step, positionMs }) =>
          stepOf(ids[listening] ?? '', step, positionMs),
        );
        for (let first = 0; first < rows.length; first += atOnce) {
          const part = rows.slice(first, first + atOnce);
          await store.write((db) => saveSteps(db, part));
          expect(await store.write((db) => saveSteps(db, part)), 'again').toEqual(part.map(() => 'known'));
        }
        const byId = (a: { listeningId: string }, b: { listeningId: string }) =>
          a.listeningId < b.listeningId ? -1 : 1;
        expect((await kept(patientId)).sort(byId)).toEqual((await summedUp(patientId)).sort(byId));
      }),
      { numRuns: 12 },
    );
  });

  it('miss nothing of what several devices tell at the same moment', async () => {
    const { patientId, stepOf } = await listener();
    const listeningId = randomUUID();
    const rows = [0, 1, 2, 3, 4, 5, 6, 7].map((minute) => stepOf(listeningId, 'reached', minute * 60_000));
    await Promise.all(rows.map((row) => store.write((db) => saveSteps(db, [row]))));
    expect(await kept(patientId)).toMatchObject([{ heardMs: 420_000, reachedMs: 420_000, startedAtMs: now }]);
  });

  it('that were kept before there were sums are summed up by the next version', async () => {
    const { patientId, stepOf } = await listener();
    const rows = Array.from({ length: 230 }, () => randomUUID()).flatMap((listeningId) => [
      stepOf(listeningId, 'started', 0),
      stepOf(listeningId, 'stopped', 40_000),
    ]);
    await store.write((db) => saveSteps(db, rows));
    const before = await kept(patientId);
    expect(before).toHaveLength(230);
    await store.write(async (db) => {
      await db.deleteFrom('listened').execute();
      await sumUpAll(db as Kysely<unknown>);
    });
    expect(await kept(patientId)).toEqual(before);
  });

  it('of somebody else stay theirs, even under the same name', async () => {
    const [rosa, emil] = [await listener(), await listener()];
    const listeningId = randomUUID();
    await store.write((db) => saveSteps(db, [rosa.stepOf(listeningId, 'finished', 60_000)]));
    await store.write((db) => saveSteps(db, [emil.stepOf(listeningId, 'started', 0)]));
    expect(await kept(rosa.patientId)).toMatchObject([{ finishedAtMs: now + 60_000 }]);
    expect(await kept(emil.patientId)).toMatchObject([{ finishedAtMs: null }]);
  });
});
