import { EventEmitter, once } from 'node:events';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { usualReminderRules } from '../../src/schedule/reminders.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { attentionOf } from '../../src/store/attention/attention.js';
import { saveNotToday } from '../../src/store/listening/listeningRecords.js';
import { addBreak } from '../../src/store/people/careBreaks.js';
import { saveUnplayable } from '../../src/store/prescribing/notPlayed.js';
import { saveReminderRules } from '../../src/store/reminding/reminderRules.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, type World, zone } from './world.js';

const minuteMs = 60_000;
const at = (time: string, day = firstDay) => wallClockInstant(day, time, zone);
const toldAt = ({ sent }: World) => sent.map(({ kind, atMs }) => `${kind} ${atMs}`);

describe('reminders', () => {
  let world: World;
  let close: () => Promise<void>;
  beforeEach(async () => {
    const opened = await openSqliteStore();
    close = opened.close;
    world = await openWorld(opened.store);
  });
  afterEach(async () => {
    await close();
    expect(world.failures).toEqual([]);
  });

  const deliveryOf = async (slot: string, kind = 'due') =>
    (await world.deliveries()).find((each) => each.slot === slot && each.kind === kind);

  it('come once, at the minute of the patient', async () => {
    await world.agree('reminders');
    await world.prescribe({ timesADay: 2, timesOfDay: ['08:00', '17:30'] });
    await world.giveLink();
    await world.runEveryMinute(at('07:55'), at('08:10'));
    await world.runEveryMinute(at('17:25'), at('17:35'));
    expect(toldAt(world)).toEqual([`due ${at('08:00')}`, `due ${at('17:30')}`]);
    const [first] = world.sent;
    expect(first).toMatchObject({ to: 'rosa@example.org', subject: 'Your session' });
    expect(first?.text).toContain('Hello Rosa.');
    expect(first?.text).toContain('your 8:00 AM session');
    expect(first?.link?.address).toMatch(/^https:\/\/clinic\.example\.org\/l\/[\w-]{43}\/$/);
    expect(first?.unsubscribe?.address).toMatch(/^https:\/\/clinic\.example\.org\/unsubscribe\/[\w-]{43}$/);
  });

  it('are not sent without consent, and not after it was taken back', async () => {
    await world.prescribe();
    await world.runAt(firstDay, '09:00');
    expect(world.sent).toEqual([]);
    await world.agree('reminders');
    await world.runAt('2026-12-01', '08:59');
    await world.agree('reminders', null, false);
    // Planned already, and asked for once more at the moment of sending.
    world.set(at('09:00', '2026-12-01'));
    await world.runner.send();
    expect(world.sent).toEqual([]);
    expect(await deliveryOf('2026-12-01#1')).toMatchObject({ state: 'dropped', why: 'no-consent' });
  });

  it('are held back for a program that cannot be played, whatever was planned, until a right version is signed', async () => {
    await world.agree('reminders');
    const id = await world.prescribe();
    const { store, patientId } = world;
    await world.runAt(firstDay, '08:59');
    // Planned already, and asked for once more at the moment of sending.
    await store.write((db) => saveUnplayable(db, patientId, { prescriptionIds: [id], nowMs: world.now() }));
    world.set(at('09:00'));
    await world.runner.send();
    expect(await deliveryOf(`${firstDay}#1`)).toMatchObject({ state: 'dropped', why: 'not-playable' });
    await world.runAt('2026-12-01', '09:00');
    expect(world.sent).toEqual([]);
    await world.runAt('2026-12-20', '12:00');
    const { first } = await store.read((db) => attentionOf(db, world.clinicId, 10));
    expect(
      first.map(({ kind }) => kind),
      'nobody is quiet who was given nothing to do',
    ).toEqual(['not-playable']);
    await world.sign(id, 1, {});
    await world.runAt('2026-12-21', '09:00');
    expect(world.sent).toHaveLength(1);
  });

  it('wait at a start until it is known which programs can be played', async () => {
    await world.agree('reminders');
    await world.prescribe();
    const known = new EventEmitter();
    const runner = world.newRunner({ ready: once(known, 'all').then(() => undefined) });
    world.set(at('09:00'));
    await runner.plan();
    const sending = runner.send();
    await runner.sendWarnings();
    expect(world.sent).toEqual([]);
    known.emit('all');
    await sending;
    expect(world.sent).toHaveLength(1);
  });

  it('come late within the agreed time and say so; after it they are recorded as missed', async () => {
    await world.agree('reminders');
    await world.prescribe({ timesADay: 2, timesOfDay: ['08:00', '12:00'] });
    await world.runAt(firstDay, '07:00');
    await world.runAt(firstDay, '08:40');
    expect(world.sent[0]?.text).toContain('This reminder is late.');
    await world.runAt(firstDay, '13:00');
    expect(world.sent).toHaveLength(1);
    const [noon, morning] = (await world.deliveries()).filter(({ slot }) => slot?.startsWith(firstDay));
    expect([noon?.state, noon?.why]).toEqual(['missed', 'too-late']);
    expect([morning?.state, morning?.isLate]).toEqual(['sent', true]);
  });

  it('that came to be due while nothing ran for days are recorded as missed', async () => {
    await world.agree('reminders');
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    world.restart();
    await world.runAt('2026-12-04', '10:30');
    expect(world.sent).toEqual([]);
    const missed = (await world.deliveries()).filter(({ state }) => state === 'missed');
    expect(missed.map(({ slot }) => slot)).toEqual(
      ['04', '03', '02', '01'].map((day) => `2026-12-${day}#1`).concat(`${firstDay}#1`),
    );
  });

  it.each([
    ['late within the agreed time', '09:20', { state: 'sent', isLate: true }],
    ['recorded as missed after it', '10:20', { state: 'missed', why: 'too-late' }],
  ])(
    'that came to be due before a killed service had ever planned them are %s',
    async (_how, again, recorded) => {
      world.set(at('08:40'));
      await world.agree('reminders');
      world.set(at('08:50'));
      await world.prescribe({ timesADay: 2, timesOfDay: ['08:30', '09:00'] });
      world.restart();
      await world.runAt(firstDay, again);
      expect(await deliveryOf(`${firstDay}#2`)).toMatchObject(recorded);
      expect(await deliveryOf(`${firstDay}#1`), 'before the signature').toBeUndefined();
    },
  );

  it('of a program that was signed, resumed or agreed to after the last plan are not lost either', async () => {
    await world.agree('reminders');
    await world.runAt(firstDay, '06:00');
    world.set(at('08:50'));
    const id = await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    await world.runAt(firstDay, '09:20');
    expect(toldAt(world), 'signed').toEqual([`due ${at('09:20')}`]);
    const [second, third] = ['2026-12-01', '2026-12-02'];
    world.set(at('10:00'));
    await world.turn(id, 'paused');
    await world.runAt(second, '06:00');
    world.set(at('08:50', second));
    await world.turn(id, 'active');
    await world.runAt(second, '09:20');
    expect(toldAt(world), 'resumed').toHaveLength(2);
    await world.agree('reminders', null, false);
    await world.runAt(third, '06:00');
    await world.agree('reminders');
    world.set(at('09:20', third));
    await world.run();
    expect(toldAt(world), 'agreed to').toHaveLength(3);
    await world.agree('reminders', null, false);
    await world.runAt('2026-12-03', '06:00');
    world.set(at('09:20', '2026-12-03'));
    await world.agree('reminders');
    await world.run();
    expect(toldAt(world), 'what was before the agreement is not asked for').toHaveLength(3);
  });

  it('rest in quiet hours, in a break, while paused and after the end', async () => {
    await world.agree('reminders');
    const id = await world.prescribe({ timesADay: 1, timesOfDay: ['06:40'] });
    // Quiet until seven, and still good then.
    await world.runEveryMinute(at('06:35'), at('07:05'));
    expect(toldAt(world)).toEqual([`due ${at('07:00')}`]);
    world.sent.length = 0;

    const { store, patientId, clinicianId, now } = world;
    await store.write((db) =>
      addBreak(db, patientId, {
        ...{ kind: 'holiday', fromDay: '2026-12-01', untilDay: '2026-12-02', note: '', clinicianId },
        nowMs: now(),
      }),
    );
    await world.runEveryMinute(at('06:55', '2026-12-01'), at('07:05', '2026-12-01'));
    await world.runEveryMinute(at('06:55', '2026-12-02'), at('07:05', '2026-12-02'));
    expect(world.sent).toEqual([]);

    await world.runAt('2026-12-03', '06:41');
    await world.turn(id, 'paused');
    world.set(at('07:01', '2026-12-03'));
    await world.runner.send();
    expect(world.sent, 'paused after it was planned').toEqual([]);
    expect(await deliveryOf('2026-12-03#1')).toMatchObject({ state: 'dropped', why: 'not-prescribed' });
    await world.turn(id, 'active');
    await world.runEveryMinute(at('06:55', '2026-12-04'), at('07:05', '2026-12-04'));
    expect(world.sent).toHaveLength(1);
    await world.sign(id, 1, { timesADay: 1, timesOfDay: ['06:40'], endsOn: '2026-12-04' });
    await world.runEveryMinute(at('06:55', '2026-12-05'), at('07:05', '2026-12-05'));
    expect(world.sent).toHaveLength(1);
  });

  it('are never sent into the evening, however long they waited', async () => {
    await world.agree('reminders');
    await world.prescribe({ timesADay: 1, timesOfDay: ['20:30'] });
    await world.runAt(firstDay, '20:00');
    await world.runAt(firstDay, '21:10');
    expect(world.sent).toEqual([]);
    expect((await world.deliveries()).at(-1)).toMatchObject({ state: 'missed', why: 'quiet-hours' });
  });

  it('follow a new version from its next time on', async () => {
    await world.agree('reminders');
    const id = await world.prescribe({ timesADay: 2, timesOfDay: ['08:00', '17:00'] });
    await world.runAt(firstDay, '08:00');
    await world.sign(id, 1, { timesADay: 2, timesOfDay: ['08:00', '15:00'] });
    await world.runEveryMinute(at('14:55'), at('15:05'));
    await world.runEveryMinute(at('16:55'), at('17:05'));
    expect(toldAt(world)).toEqual([`due ${at('08:00')}`, `due ${at('15:00')}`]);
  });

  it('tell the caregiver when a session was not begun in time, and only then', async () => {
    await world.agree('reminders');
    const caregiverId = await world.addCaregiver();
    const id = await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    const linkId = await world.giveLink();
    await world.agree('caregiver-reminded', caregiverId);
    const { store, patientId } = world;
    await store.write((db) =>
      saveReminderRules(db, patientId, { ...usualReminderRules, caregiverAfterMinutes: 45 }),
    );
    // Reminded, but not told that it was not begun: that is agreed on by itself.
    await world.runEveryMinute(at('09:00'), at('09:50'));
    expect(world.sent.map(({ kind, to }) => [kind, to])).toEqual([
      ['due', 'rosa@example.org'],
      ['due', 'jonas@example.org'],
    ]);
    world.sent.length = 0;
    await world.agree('caregiver-told-not-begun', caregiverId);
    await world.runEveryMinute(at('09:00', '2026-12-01'), at('09:50', '2026-12-01'));
    expect(world.sent.at(-1)).toMatchObject({ kind: 'not-begun', to: 'jonas@example.org' });
    expect(world.sent.at(-1)?.atMs).toBe(at('09:45', '2026-12-01'));
    expect(world.sent.at(-1)?.text).toContain("Rosa's 9:00 AM session has not begun yet");
    world.sent.length = 0;
    await world.runEveryMinute(at('09:00', '2026-12-02'), at('09:30', '2026-12-02'));
    await world.listened(id, '2026-12-02#1', linkId, 'started');
    await world.runEveryMinute(at('09:31', '2026-12-02'), at('09:50', '2026-12-02'));
    expect(world.sent.map(({ kind }) => kind)).toEqual(['due', 'due']);
    expect(
      (await world.deliveries()).find(({ kind, slot }) => kind === 'not-begun' && slot === '2026-12-02#1'),
    ).toMatchObject({ state: 'dropped', why: 'begun' });
  });

  it('are not sent for a session that was begun before its time or put off', async () => {
    await world.agree('reminders');
    const id = await world.prescribe({ timesADay: 2, timesOfDay: ['09:00', '17:00'] });
    const linkId = await world.giveLink();
    await world.runAt(firstDay, '08:30');
    await world.listened(id, `${firstDay}#1`, linkId, 'started');
    const { store, patientId, now } = world;
    await store.write((db) =>
      saveNotToday(db, {
        ...{ id: 'n', patientId, prescriptionId: id, versionNumber: 1, sessionNumber: 2 },
        ...{
          slot: `${firstDay}#2`,
          linkId,
          caregiverId: null,
          atMs: now(),
          receivedAtMs: now(),
          reason: 'no-time',
        },
      }),
    );
    await world.runAt(firstDay, '09:00');
    await world.runAt(firstDay, '17:00');
    expect(world.sent).toEqual([]);
    const today = (await world.deliveries()).filter(({ slot }) => slot?.startsWith(firstDay));
    expect(today.map(({ why }) => why)).toEqual(['put-off', 'begun']);
  });

  it('are not sent on days that are free because the week is done', async () => {
    await world.agree('reminders');
    const id = await world.prescribe({ timesADay: 1, daysAWeek: 2 });
    const linkId = await world.giveLink();
    for (const day of [firstDay, '2026-12-01']) {
      await world.runAt(day, '09:00');
      await world.listened(id, `${day}#1`, linkId, 'finished');
    }
    await world.runAt('2026-12-02', '09:00');
    expect(world.sent).toHaveLength(2);
    await world.runAt('2026-12-07', '09:00');
    expect(world.sent, 'the next week begins').toHaveLength(3);
  });

  it('are tried again after longer and longer, and then have visibly failed', async () => {
    await world.agree('reminders');
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    const later = { outcome: 'later', why: 'mail-unreachable' } as const;
    world.recording.answer(later, later);
    await world.runEveryMinute(at('09:00'), at('09:05'));
    expect(world.sent.map(({ atMs }) => atMs)).toEqual([at('09:02')]);
    world.recording.answer(...Array.from({ length: 20 }, () => later));
    await world.runEveryMinute(at('09:00', '2026-12-01'), at('10:05', '2026-12-01'));
    expect(world.sent).toHaveLength(1);
    const failed = await deliveryOf('2026-12-01#1');
    expect(failed).toMatchObject({ state: 'failed', why: 'mail-unreachable' });
    expect(failed?.attempts).toBeGreaterThan(4);
    const { first } = await world.store.read((db) => attentionOf(db, world.clinicId, 10));
    expect(first.map(({ kind }) => kind)).toContain('not-delivered');
  });

  it('are not sent again to an address that is no more, until the record has another one', async () => {
    await world.agree('reminders');
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    world.recording.answer({ outcome: 'gone', why: 'mail-no-such-address' });
    await world.runAt(firstDay, '09:00');
    await world.runAt('2026-12-01', '09:00');
    expect(world.sent).toEqual([]);
    await world.changePatient({ email: 'Rosa.Lind@example.org' });
    await world.runAt('2026-12-02', '09:00');
    expect(world.sent.map(({ to }) => to)).toEqual(['rosa.lind@example.org']);
  });

  it('come once for each session of somebody who moves to another zone in the middle of a day', async () => {
    await world.agree('reminders');
    await world.prescribe({ timesADay: 2, timesOfDay: ['09:00', '17:00'] });
    await world.runAt(firstDay, '09:00');
    await world.changePatient({ zone: 'America/New_York' });
    const morning = wallClockInstant(firstDay, '09:00', 'America/New_York');
    const evening = wallClockInstant(firstDay, '17:00', 'America/New_York');
    await world.runEveryMinute(at('09:01'), at('09:05'));
    await world.runEveryMinute(morning, morning + 5 * minuteMs);
    await world.runEveryMinute(at('17:00'), at('17:05'));
    await world.runEveryMinute(evening, evening + 5 * minuteMs);
    expect(toldAt(world)).toEqual([`due ${at('09:00')}`, `due ${evening}`]);
  });

  it('come for the session of the evening when the one of the morning is taken away after it was done', async () => {
    await world.agree('reminders');
    const id = await world.prescribe({ timesADay: 2, timesOfDay: ['09:00', '17:00'] });
    const linkId = await world.giveLink();
    await world.runAt(firstDay, '09:00');
    await world.listened(id, `${firstDay}#1`, linkId, 'finished');
    world.set(at('12:00'));
    await world.sign(id, 1, { timesADay: 1, timesOfDay: ['18:00'] });
    await world.runEveryMinute(at('16:55'), at('17:05'));
    await world.runEveryMinute(at('17:55'), at('18:05'));
    expect(toldAt(world)).toEqual([`due ${at('09:00')}`, `due ${at('18:00')}`]);
  });

  it('survive a clock that jumps forward and back', async () => {
    await world.agree('reminders');
    await world.prescribe();
    await world.runAt(firstDay, '08:00');
    world.set(wallClockInstant('2027-06-01', '12:00', zone));
    await world.run();
    expect(world.sent, 'nothing is due then').toEqual([]);
    await world.runAt(firstDay, '08:30');
    await world.runAt('2026-12-08', '09:00');
    expect(toldAt(world)).toEqual([`due ${at('09:00', '2026-12-08')}`]);
  });

  it('go through the night of a clock change once', async () => {
    await world.agree('reminders');
    const { store, patientId } = world;
    const rules = { ...usualReminderRules, quietFrom: '00:00', quietUntil: '00:00' };
    await store.write((db) => saveReminderRules(db, patientId, rules));
    await world.prescribe({ timesADay: 1, timesOfDay: ['02:30'] });
    const gapDay = '2027-03-28';
    world.set(wallClockInstant('2027-03-27', '12:00', zone));
    await world.run();
    await world.runEveryMinute(
      wallClockInstant(gapDay, '00:00', zone),
      wallClockInstant(gapDay, '05:00', zone),
    );
    // facts of the zone: at 2027-03-28T01:00Z clocks in Berlin leap from 02:00 to 03:00.
    expect(world.sent.map(({ atMs }) => new Date(atMs).toISOString())).toEqual(['2027-03-28T01:00:00.000Z']);
    world.sent.length = 0;
    const overlapDay = '2027-10-31';
    world.set(wallClockInstant('2027-10-30', '12:00', zone));
    await world.run();
    await world.runEveryMinute(
      wallClockInstant(overlapDay, '00:00', zone),
      wallClockInstant(overlapDay, '05:00', zone),
    );
    // 02:30 comes twice, at 00:30Z and at 01:30Z: once, the first time.
    expect(world.sent.map(({ atMs }) => new Date(atMs).toISOString())).toEqual(['2027-10-31T00:30:00.000Z']);
  });

  it('have sessions made ahead, the first due first, each once', async () => {
    await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    await world.runAt(firstDay, '00:10');
    await world.runner.makeAhead();
    await world.runner.makeAhead();
    expect(world.made).toEqual([world.patientId]);
    await world.runAt('2026-12-01', '00:10');
    await world.runner.makeAhead();
    expect(world.made).toHaveLength(2);
  });

  it('tell the home page who has gone quiet, and which program is due for a review', async () => {
    const kinds = async () => {
      const { first } = await world.store.read((db) => attentionOf(db, world.clinicId, 10));
      return first.map(({ kind }) => kind);
    };
    const id = await world.prescribe({ reviewOn: '2026-12-05' });
    const linkId = await world.giveLink();
    await world.runAt('2026-12-02', '12:00');
    expect(await kinds(), 'two days are not much').toEqual([]);
    await world.runAt('2026-12-04', '12:00');
    expect(await kinds()).toEqual(['gone-quiet']);
    await world.listened(id, '2026-12-04#1', linkId, 'started');
    await world.runAt('2026-12-05', '12:00');
    expect(await kinds()).toEqual(['to-review']);
    await world.sign(id, 1, { reviewOn: '2026-12-31' });
    await world.runAt('2026-12-05', '12:01');
    expect(await kinds()).toEqual([]);
  });
});
