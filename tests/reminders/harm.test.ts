import { createHash } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import { usualReminderRules } from '../../src/schedule/reminders.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { changeClinicContact } from '../../src/store/accounts/clinics.js';
import { attentionOf } from '../../src/store/attention/attention.js';
import { linkOfToken } from '../../src/store/listening/listeningLinks.js';
import { saveNotToday, saveWarning } from '../../src/store/listening/listeningRecords.js';
import { addCaregiver, endCaregiver } from '../../src/store/people/caregivers.js';
import { patientById } from '../../src/store/people/chart.js';
import { contactsOf, endContact } from '../../src/store/people/contacts.js';
import { saveReminderRules } from '../../src/store/reminding/reminderRules.js';
import { openSqliteStore } from '../store/databases.js';
import { makePatient } from '../store/people.js';
import { firstDay, openWorld, type World, zone } from './world.js';

const at = (time: string, day = firstDay) => wallClockInstant(day, time, zone);
const later = { outcome: 'later', why: 'mail-unreachable' } as const;

/** What could do harm, each as somebody who was looking for it found it. */
describe('reminders that could do harm', () => {
  let world: World;
  let close: () => Promise<void>;
  beforeEach(async () => {
    const opened = await openSqliteStore();
    close = opened.close;
    world = await openWorld(opened.store);
    await world.agree('reminders');
  });
  afterEach(() => close());

  async function warn(): Promise<void> {
    const { store, clinicId, patientId, secrets, now } = world;
    const prescriptionId = await world.prescribe();
    const linkId = await world.giveLink();
    await store.write(async (db) => {
      await saveWarning(db, {
        ...{ id: 'w', patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: `${firstDay}#1` },
        ...{ linkId, caregiverId: null, atMs: now(), receivedAtMs: now() },
        ...{ listeningId: null, positionMs: null, signs: '[]' },
      });
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      await notifyOfWarning(
        db,
        { clinicId, patient, warningId: 'w', telling: world.telling, nowMs: now() },
        secrets,
      );
    });
  }

  it('a warning sign is tried as long as a mail server is away, and told again as long as nobody answers', async () => {
    world.set(at('08:00'));
    await warn();
    world.recording.answer(...Array.from({ length: 400 }, () => later));
    await world.runEveryMinute(at('08:00'), at('11:30'));
    expect(world.sent).toEqual([]);
    world.recording.answer();
    await world.runEveryMinute(at('11:31'), at('11:59'));
    expect(
      world.sent.map(({ subject }) => subject).sort(),
      'the first, and the one of two hours later',
    ).toEqual(['A warning sign was reported', 'Still waiting: a warning sign was reported']);
    expect(world.sent.find(({ subject }) => subject.startsWith('A '))?.text).toContain(
      'This message is late.',
    );
    await world.runAt(firstDay, '20:01');
    expect(world.sent, 'and twelve hours later').toHaveLength(3);
  });

  it('a caregiver who ended reminders is still told that something is wrong', async () => {
    const { store, clinicId, now } = world;
    const caregiverId = await world.addCaregiver();
    await world.agree('caregiver-told-of-warnings', caregiverId);
    await world.agree('caregiver-reminded', caregiverId);
    await world.run();
    const owner = { caregiverPersonId: caregiverId };
    const [contact] = await store.read((db) => contactsOf(db, clinicId, owner));
    await store.write((db) => endContact(db, contact?.id ?? '', { why: 'unsubscribed', nowMs: now() }));
    world.set(at('08:00'));
    await warn();
    await world.runner.sendWarnings();
    expect(world.sent.map(({ to }) => to)).toContain('jonas@example.org');
    await world.runAt('2026-12-01', '09:00');
    expect(world.sent.filter(({ kind }) => kind === 'due')).toEqual([]);
  });

  it('one record that cannot be understood holds up nobody else', async () => {
    const { store, clinicId, now } = world;
    const broken = await store.write((db) => makePatient(db, clinicId, now(), 'Aaron'));
    await store.write((db) =>
      db.updateTable('patient').set({ zone: 'Nowhere/Atall' }).where('id', '=', broken).execute(),
    );
    await world.prescribe();
    await store.write((db) => db.updateTable('reminderWatch').set({ planAtMs: 0 }).execute());
    await world.runAt(firstDay, '09:00');
    expect(world.sent).toHaveLength(1);
    expect(world.failures.length, 'and it is told').toBeGreaterThan(0);
  });

  it('a warning sign that was told of while the clock was a day ahead does not wait for that day', async () => {
    const { store, clinicId, patientId, secrets, telling } = world;
    await world.runAt(firstDay, '09:00');
    const wrongMs = at('10:00', '2026-12-01');
    await store.write(async (db) => {
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      await notifyOfWarning(db, { clinicId, patient, warningId: 'ahead', telling, nowMs: wrongMs }, secrets);
    });
    await world.runAt(firstDay, '10:01');
    expect(world.sent.filter(({ kind }) => kind === 'warning')).toEqual([]);
    // The clock is set right: one look sees it ahead, the next one back.
    world.set(wrongMs - 60_000);
    await world.runner.plan();
    await world.runAt(firstDay, '10:02');
    expect(world.sent.filter(({ kind }) => kind === 'warning')).toHaveLength(1);
    await world.runAt(firstDay, '10:03');
    expect(
      world.sent.filter(({ kind }) => kind === 'warning'),
      'told again in its own time',
    ).toHaveLength(1);
  });

  it('a warning sign that the machine slept over is told, however late', async () => {
    const { store, clinicId, patientId, secrets, telling } = world;
    await store.write(async (db) => {
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      const nowMs = at('10:00');
      await notifyOfWarning(db, { clinicId, patient, warningId: 'slept over', telling, nowMs }, secrets);
    });
    await world.runAt('2026-12-03', '10:00');
    const told = world.sent.filter(({ kind }) => kind === 'warning');
    expect(told).toHaveLength(1);
    expect(told[0]?.text).toContain('late');
  });

  it('a clock that leapt for one look gives back what it gave up', async () => {
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    await world.runAt('2026-12-05', '12:00');
    expect((await world.deliveries()).filter(({ state }) => state === 'missed').length).toBeGreaterThan(2);
    await world.runAt(firstDay, '08:30');
    for (const day of [firstDay, '2026-12-01', '2026-12-02']) await world.runAt(day, '09:00');
    expect(world.sent.map(({ atMs }) => atMs)).toEqual(
      [firstDay, '2026-12-01', '2026-12-02'].map((day) => at('09:00', day)),
    );
  });

  it('nothing goes to an address that was changed a moment before, and what was sent there opens nothing', async () => {
    const { store, secrets, clinicId, patientId, now } = world;
    await world.prescribe();
    const linkId = await world.giveLink();
    await world.runAt(firstDay, '09:00');
    const [old] = await store.read((db) => contactsOf(db, clinicId, { patientId }));
    const tokenHash = createHash('sha256')
      .update(secrets.pagesTokenOf(old?.id ?? '', linkId))
      .digest('hex');
    const opens = () => store.read((db) => linkOfToken(db, { tokenHash, purpose: 'pages', nowMs: now() }));
    expect((await opens())?.linkId).toBe(linkId);
    await world.runAt('2026-12-01', '08:58');
    await world.changePatient({ email: 'other@example.org' });
    expect(await opens()).toBeNull();
    world.set(at('09:00', '2026-12-01'));
    await world.runner.send();
    await world.run();
    expect(world.sent.map(({ to }) => to)).toEqual(['rosa@example.org', 'other@example.org']);
  });

  it('a caregiver who was taken away and put back is reminded again', async () => {
    const { store, patientId, now } = world;
    const first = await world.addCaregiver();
    await world.agree('caregiver-reminded', first);
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    const second = await store.write(async (db) => {
      await endCaregiver(db, patientId, { id: first, nowMs: now() });
      const details = { name: 'Jonas Lind', relation: 'son', phone: '', email: 'jonas@example.org' };
      return addCaregiver(db, patientId, details, { personId: first, nowMs: now() });
    });
    await world.agree('caregiver-reminded', second);
    await world.runAt(firstDay, '09:00');
    expect(world.sent.map(({ to }) => to).sort()).toEqual(['jonas@example.org', 'rosa@example.org']);
  });

  it('a time that a move to another zone has put into the past is recorded, not forgotten', async () => {
    await world.prescribe({ timesADay: 1, timesOfDay: ['12:00'] });
    await world.runAt(firstDay, '11:30');
    // Two hours ahead of Berlin in winter: it is half past one there.
    await world.changePatient({ zone: 'Europe/Moscow' });
    await world.runAt(firstDay, '11:31');
    const noon = (await world.deliveries()).find(({ slot }) => slot === `${firstDay}#1`);
    expect(noon).toMatchObject({ state: 'missed', why: 'moved' });
  });

  it('a time that the clocks leap over before anything is planned anew is called moved, not too late', async () => {
    await world.prescribe({ timesADay: 1, timesOfDay: ['12:00'] });
    await world.runAt(firstDay, '11:59');
    await world.changePatient({ zone: 'Europe/Moscow' });
    world.set(at('12:00'));
    await world.runner.send();
    const noon = (await world.deliveries()).find(({ slot }) => slot === `${firstDay}#1`);
    expect(noon).toMatchObject({ state: 'missed', why: 'moved' });
  });

  it('nobody is reminded while the clinic has no number to call; it is recorded so, and warnings go', async () => {
    const { store, clinicId, patientId, secrets, telling, now } = world;
    const dial = (phone: string) =>
      store.write((db) => changeClinicContact(db, clinicId, { phone, emergencyNumber: '112' }));
    await dial('');
    await world.prescribe({ timesADay: 2, timesOfDay: ['09:00', '17:00'] });
    await world.runAt(firstDay, '08:00');
    await world.runAt(firstDay, '09:00');
    expect(world.sent).toEqual([]);
    const of = async (slot: string) => (await world.deliveries()).find((each) => each.slot === slot);
    expect(await of(`${firstDay}#1`)).toMatchObject({ state: 'missed', why: 'no-clinic-number' });
    await store.write(async (db) => {
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      await notifyOfWarning(db, { clinicId, patient, warningId: 'w', telling, nowMs: now() }, secrets);
    });
    await world.runner.sendWarnings();
    expect(world.sent.map(({ kind }) => kind)).toEqual(['warning']);
    await dial('0100 555 00');
    await world.runAt(firstDay, '17:00');
    expect(world.sent.filter(({ kind }) => kind === 'due')).toHaveLength(1);
    expect(await of(`${firstDay}#1`), 'what was held is not called for hours later').toMatchObject({
      state: 'missed',
    });
  });

  it('pain in the morning holds the other reminders of the day back, and counts as no answer', async () => {
    const { store, patientId, now } = world;
    const caregiverId = await world.addCaregiver();
    await world.agree('caregiver-told-not-begun', caregiverId);
    await store.write((db) => saveReminderRules(db, patientId, { ...usualReminderRules, quietAfterDays: 2 }));
    const id = await world.prescribe({ timesADay: 2, timesOfDay: ['09:00', '17:00'] });
    const linkId = await world.giveLink();
    for (const [index, day] of [firstDay, '2026-12-01'].entries()) {
      await world.runAt(day, '08:00');
      await store.write((db) =>
        saveNotToday(db, {
          ...{ id: `n${index}`, patientId, prescriptionId: id, versionNumber: 1, sessionNumber: 1 },
          ...{
            slot: `${day}#1`,
            linkId,
            caregiverId: null,
            atMs: now(),
            receivedAtMs: now(),
            reason: 'pain',
          },
        }),
      );
      for (const time of ['09:00', '10:30', '17:00', '18:30']) await world.runAt(day, time);
    }
    expect(world.sent).toEqual([]);
    await world.runAt('2026-12-02', '08:00');
    const { first } = await store.read((db) => attentionOf(db, world.clinicId, 10));
    expect(first.map(({ kind }) => kind)).toEqual(['gone-quiet']);
  });

  it('somebody who has just finished is not called to the next session, and nobody is alarmed', async () => {
    const caregiverId = await world.addCaregiver();
    await world.agree('caregiver-told-not-begun', caregiverId);
    const id = await world.prescribe({ timesADay: 3, timesOfDay: ['09:00', '13:00', '18:00'] });
    const linkId = await world.giveLink();
    await world.runAt(firstDay, '12:30');
    await world.listened(id, `${firstDay}#1`, linkId, 'finished');
    await world.runEveryMinute(at('12:55'), at('15:10'));
    expect(world.sent).toEqual([]);
  });
});
