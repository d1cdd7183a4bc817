import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/engine/openStore.js';
import {
  listLastSigned,
  listRunningPrograms,
  readRecentActivity,
  readRecentAnswers,
} from '../../src/store/followup/clinicView.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import {
  saveCheckIn,
  saveNotToday,
  saveSteps,
  saveWarning,
} from '../../src/store/listening/listeningRecords.js';
import { addBreak } from '../../src/store/people/careBreaks.js';
import { changeState, createPrescription } from '../../src/store/prescribing/prescriptions.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const dayMs = 24 * 60 * 60_000;
const now = Date.UTC(2026, 10, 25, 9);

describe.each(databases)('what a clinic did lately, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  beforeAll(async () => {
    ({ store, close } = await open());
  });
  afterAll(() => close());

  /** A clinic with one patient, who did a little of everything a day ago and answered three weeks ago. */
  const filled = (email: string) =>
    store.write(async (db) => {
      const { clinicId, clinicianId } = await makeClinic(db, now - 30 * dayMs, email);
      const patientId = await makePatient(db, clinicId, now - 30 * dayMs, email);
      const [tokenHash, codeHash] = [randomUUID(), randomUUID()];
      const link = { clinicId, owner: { patientId }, tokenHash, codeHash, pinHash: null, clinicianId };
      const linkId = await makeLink(db, { ...link, nowMs: now, expiresAtMs: now + dayMs });
      const signing = {
        title: email,
        content: '{}',
        screeningId: null,
        reason: 'why',
        signedBy: clinicianId,
      };
      const prescriptionId = await createPrescription(db, patientId, { ...signing, nowMs: now - 25 * dayMs });
      const change = { prescriptionId, clinicianId, reason: 'r' };
      await changeState(db, { ...change, state: 'paused', nowMs: now - 20 * dayMs });
      await changeState(db, { ...change, state: 'active', nowMs: now - 19 * dayMs });
      const said = (atMs: number, slot: string) => ({
        ...{ id: randomUUID(), patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot, linkId },
        ...{ caregiverId: null, atMs, receivedAtMs: atMs, choice: null },
      });
      const [listeningId, stoppedId] = [randomUUID(), randomUUID()];
      await saveSteps(db, [
        { ...said(now - dayMs, '2026-11-24#1'), listeningId, step: 'finished', positionMs: 9 },
        { ...said(now - dayMs + 1, '2026-11-24#2'), listeningId: stoppedId, step: 'stopped', positionMs: 9 },
      ]);
      for (const daysAgo of [21, 15, 13, 1])
        await saveCheckIn(db, {
          ...said(now - daysAgo * dayMs, `${new Date(now - daysAgo * dayMs).toISOString().slice(0, 10)}#1`),
          ...{ listeningId, answers: '{"painBefore":3}' },
        });
      // Told late, and without a word about pain: neither makes a first week.
      for (const answers of ['{"painBefore":null}', '{"effort":2}'])
        await saveCheckIn(db, { ...said(now - 28 * dayMs, '2026-10-28#1'), listeningId, answers });
      const { choice: _choice, ...putOff } = said(now - dayMs, '2026-11-24#2');
      for (const reason of ['pain', 'away'] as const)
        await saveNotToday(db, { ...putOff, id: randomUUID(), reason });
      const { choice: _alsoChoice, ...warning } = said(now - dayMs, '2026-11-24#1');
      await saveWarning(db, { ...warning, listeningId: null, positionMs: null, signs: '[]' });
      const days = { kind: 'holiday', note: '', clinicianId, nowMs: now } as const;
      await addBreak(db, patientId, { ...days, fromDay: '2026-11-01', untilDay: '2026-11-03' });
      await addBreak(db, patientId, { ...days, fromDay: '2026-11-20', untilDay: null });
      return { clinicId, patientId, prescriptionId };
    });

  it('is of that clinic alone, and of those days', async () => {
    const { clinicId, patientId, prescriptionId } = await filled('ada@example.org');
    await filled('eve@example.org');
    const running = await store.read((db) => listRunningPrograms(db, clinicId));
    expect(running).toEqual([
      {
        ...{ id: prescriptionId, patientId, zone: 'UTC', title: 'ada@example.org', content: '{}' },
        sinceMs: now - 19 * dayMs,
      },
    ]);
    const since = { sinceMs: now - 14 * dayMs, sinceDay: '2026-11-11' };
    expect(await store.read((db) => readRecentActivity(db, clinicId, since))).toEqual({
      finished: [{ prescriptionId, slot: '2026-11-24#1' }],
      unwell: [{ patientId, slot: '2026-11-24#2' }],
      breaks: [{ patientId, fromDay: '2026-11-20', untilDay: null }],
    });
    const lately = await store.read((db) => readRecentAnswers(db, [patientId], '2026-11-18'));
    expect(lately.answers.map(({ atMs }) => (now - atMs) / dayMs).sort((a, b) => a - b)).toEqual([1, 15, 21]);
    expect([...lately.lastHeardMs]).toEqual([[patientId, now - dayMs + 1]]);
    expect([...lately.openWarnings]).toEqual([[patientId, 1]]);
    expect(await store.read((db) => listLastSigned(db, clinicId, 5))).toMatchObject([
      { prescriptionId, number: 1, reason: 'why', patientName: 'ada@example.org', signedByName: 'Ada' },
    ]);
    expect((await store.read((db) => readRecentAnswers(db, [], '2026-11-18'))).answers, 'of nobody').toEqual(
      [],
    );
  });
});
