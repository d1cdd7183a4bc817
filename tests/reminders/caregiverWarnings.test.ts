import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { answerWarnings, saveWarning } from '../../src/store/listening/listeningRecords.js';
import { endCaregiver } from '../../src/store/people/caregivers.js';
import { patientById } from '../../src/store/people/chart.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, type World, zone } from './world.js';

let world: World;
let close: () => Promise<void>;
let caregiverId: string;
beforeEach(async () => {
  const opened = await openSqliteStore();
  close = opened.close;
  world = await openWorld(opened.store);
  caregiverId = await world.addCaregiver();
  world.set(wallClockInstant(firstDay, '08:00', zone));
});
afterEach(() => close());

const tell = async (warningId: string = randomUUID()) => {
  const { store, clinicId, patientId, secrets, telling, now } = world;
  await store.write(async (db) => {
    const patient = await patientById(db, clinicId, patientId);
    if (patient === null) throw new RangeError('the patient is there');
    await notifyOfWarning(db, { clinicId, patient, warningId, telling, nowMs: now() }, secrets);
  });
};
const planned = () =>
  world.store.read((db) =>
    db.selectFrom('delivery').select(['state', 'why']).where('caregiverId', '=', caregiverId).execute(),
  );
const toldAddresses = () => world.sent.map(({ to }) => to);

describe('WARN-6: a caregiver', () => {
  it('WARN-6: is told of a sign only where that was agreed on; a clinician always', async () => {
    await tell();
    expect(await planned(), 'nothing was agreed').toEqual([]);
    await world.agree('caregiver-reminded', caregiverId);
    await tell();
    expect(await planned(), 'reminders were').toEqual([]);
    await world.agree('caregiver-told-of-warnings', caregiverId);
    await tell();
    expect(await planned()).toEqual([{ state: 'waiting', why: null }]);
    await world.runner.sendWarnings();
    expect(toldAddresses()).toContain('jonas@example.org');
    expect(toldAddresses()).toContain('ada@example.org');
  });

  it('WARN-6: is not told where the patient has taken it back before it was sent', async () => {
    await world.agree('caregiver-told-of-warnings', caregiverId);
    await tell();
    await world.agree('caregiver-told-of-warnings', caregiverId, false);
    await world.runner.sendWarnings();
    expect(toldAddresses()).toEqual(['ada@example.org']);
    expect(await planned()).toEqual([{ state: 'dropped', why: 'no-consent' }]);
  });

  it('WARN-6: is not told who cares for this patient no longer', async () => {
    await world.agree('caregiver-told-of-warnings', caregiverId);
    await tell();
    const { store, patientId, now } = world;
    await store.write((db) => endCaregiver(db, patientId, { id: caregiverId, nowMs: now() }));
    await world.runner.sendWarnings();
    expect(toldAddresses()).toEqual(['ada@example.org']);
  });
});

describe('WARN-7: while a sign is open', () => {
  it('WARN-7: no reminder is planned, and what was planned is taken away', async () => {
    await world.agree('reminders');
    const prescriptionId = await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    await world.runner.plan();
    const due = async () => (await world.deliveries()).filter(({ kind }) => kind === 'due').length;
    expect(await due()).toBeGreaterThan(0);
    const linkId = await world.giveLink();
    const { patientId, now, store } = world;
    const about = { patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: `${firstDay}#1` };
    await store.write((db) =>
      saveWarning(db, {
        ...{ id: randomUUID(), ...about, listeningId: null, linkId, caregiverId: null, positionMs: null },
        ...{ signs: '["faint"]', atMs: now(), receivedAtMs: now() },
      }),
    );
    await store.write((db) => db.updateTable('reminderWatch').set({ planAtMs: 0 }).execute());
    await world.runner.plan();
    expect(await due()).toBe(0);
    // Once somebody has answered it, the session of nine is called to.
    const answer = { seenUpToMs: now(), clinicianId: world.clinicianId, note: 'Cramp', nowMs: now() };
    await store.write((db) => answerWarnings(db, patientId, answer));
    await store.write((db) => db.updateTable('reminderWatch').set({ planAtMs: 0 }).execute());
    await world.runAt(firstDay, '09:00');
    expect(toldAddresses()).toEqual(['rosa@example.org']);
  });
});
