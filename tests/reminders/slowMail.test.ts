import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Channel } from '../../src/channels/channel.js';
import { openMailServer, usualMailTimes } from '../../src/channels/mail.js';
import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import type { Runner } from '../../src/reminders/runner.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { patientById } from '../../src/store/people/chart.js';
import { claimDeliveries, insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { openMailServerForTest, type TestMailServer } from '../channels/mailServer.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, type World, zone } from './world.js';

const at = (time: string, day = firstDay) => wallClockInstant(day, time, zone);
const hourMs = 3_600_000;

let world: World;
let close: () => Promise<void>;
let server: TestMailServer;
let mail: Channel;
beforeEach(async () => {
  const opened = await openSqliteStore();
  close = opened.close;
  world = await openWorld(opened.store);
  await world.agree('reminders');
  await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
  server = await openMailServerForTest();
  mail = await openMailServer(
    {
      ...{ host: '127.0.0.1', port: server.port, isSecure: false, needsStartTls: false },
      ...{ skipsStartTls: true, auth: null, from: { name: '', address: 'clinic@clinic.example' } },
    },
    { ...usualMailTimes, slowAfterMs: 20 },
  );
});
afterEach(async () => {
  server.hold.release();
  await mail.close();
  await server.stop();
  await close();
  expect(world.failures).toEqual([]);
});

/** A runner whose mail goes to the server, and who is soon aware that an answer is slow. */
const mailing = (lastAnswersMs = 20): Runner =>
  world.newRunner({
    channels: new Map([['mail', mail]]),
    times: { handingMs: 20_000, slowAfterMs: 20, askAgainMs: 1_000, lastAnswersMs },
  });
const due = async () => (await world.deliveries()).find(({ slot }) => slot === `${firstDay}#1`);

async function warn(): Promise<void> {
  const { store, clinicId, patientId, secrets, telling, now } = world;
  await store.write(async (db) => {
    const patient = await patientById(db, clinicId, patientId);
    if (patient === null) throw new RangeError('the patient is there');
    await notifyOfWarning(db, { clinicId, patient, warningId: 'w', telling, nowMs: now() }, secrets);
  });
}

describe('a mail server that is slow to answer', () => {
  it('gets one copy, whatever the clock and the lease say meanwhile, and holds up nobody else', async () => {
    const runner = mailing(60_000);
    server.behaviour = 'hold-answer';
    world.set(at('09:00'));
    await runner.plan();
    await runner.send();
    await server.hold.held();
    expect(await due()).toMatchObject({ state: 'sending', why: 'answer-unknown' });
    world.set(at('09:00') + 2 * hourMs);
    await runner.plan();
    await runner.send();
    server.behaviour = 'take';
    await warn();
    await runner.sendWarnings();
    await expect
      .poll(() => server.received.map(({ parsed }) => parsed.subject))
      .toEqual(['Your session', 'A warning sign was reported']);
    server.hold.release();
    await runner.stop();
    expect(await due()).toMatchObject({ state: 'sent', why: null });
    expect(server.tries).toBe(2);
  });

  it('gets its answer waited for when the service stops', async () => {
    const runner = mailing(60_000);
    server.behaviour = 'hold-answer';
    world.set(at('09:00'));
    await runner.plan();
    await runner.send();
    await server.hold.held();
    const stopped = runner.stop();
    server.hold.release();
    await stopped;
    expect(await due()).toMatchObject({ state: 'sent' });
  });

  it('when the service stops before it answers, a reminder is told to be unknown and not sent again, a warning sign is', async () => {
    const runner = mailing();
    server.behaviour = 'hold-answer';
    world.set(at('09:00'));
    await warn();
    await runner.plan();
    await Promise.all([runner.send(), runner.sendWarnings()]);
    await server.hold.held(2);
    await runner.stop();
    expect(await due()).toMatchObject({ state: 'failed', why: 'answer-unknown' });
    server.behaviour = 'take';
    world.set(at('09:02'));
    const next = mailing(60_000);
    await Promise.all([next.send(), next.sendWarnings()]);
    await next.stop();
    const subjects = server.received.map(({ parsed }) => parsed.subject).sort();
    expect(subjects).toEqual(['A warning sign was reported', 'A warning sign was reported', 'Your session']);
    // Not by a clock that goes back either.
    world.set(at('08:59'));
    const last = mailing(60_000);
    await last.plan();
    await last.send();
    await last.stop();
    expect(server.received).toHaveLength(3);
  });

  it('when the service is killed before it answers, the same', async () => {
    const killed = mailing();
    server.behaviour = 'hold-answer';
    world.set(at('09:00'));
    await warn();
    await killed.plan();
    await Promise.all([killed.send(), killed.sendWarnings()]);
    await server.hold.held(2);
    server.behaviour = 'take';
    const next = mailing(60_000);
    await Promise.all([next.send(), next.sendWarnings()]);
    await next.stop();
    expect(await due()).toMatchObject({ state: 'failed', why: 'answer-unknown' });
    expect(server.received.map(({ parsed }) => parsed.subject).sort()).toEqual([
      'A warning sign was reported',
      'A warning sign was reported',
      'Your session',
    ]);
    server.hold.release();
    await killed.stop();
    expect(await due(), 'whoever holds it no longer writes nothing down').toMatchObject({ state: 'failed' });
  });
});

describe('what a process that was killed had claimed', () => {
  it('is sent at once where no other process can hold it', async () => {
    await world.runner.plan();
    world.set(at('09:00'));
    const claiming = { owner: 'gone', nowMs: at('09:00'), leaseMs: hourMs, most: 10, isShared: false };
    const claimed = await world.store.write((db) =>
      claimDeliveries(db, { ...claiming, onlyWarnings: false }),
    );
    expect(claimed).toHaveLength(1);
    world.restart();
    await world.runAt(firstDay, '09:01');
    expect(await due()).toMatchObject({ state: 'sent' });
  });

  it('is few, and free again in less than a minute where there are others', async () => {
    await world.runAt(firstDay, '08:00');
    const first = await world.store.read((db) =>
      db.selectFrom('delivery').selectAll().limit(1).executeTakeFirstOrThrow(),
    );
    const { clinicId, patientId, prescriptionId, contactId } = first;
    const copies = Array.from({ length: 250 }, (_, index) => ({
      ...{ key: `copy ${index}`, clinicId, patientId, prescriptionId, contactId, kind: 'due' as const },
      ...{ slot: `${firstDay}#1`, slotDueAtMs: at('09:00'), subject: null, caregiverId: null },
      ...{ forAtMs: at('09:00'), nextAtMs: at('09:00'), goodUntilMs: at('10:00') },
    }));
    await world.store.write((db) => insertDeliveries(db, copies));
    world.set(at('09:00'));
    const held: number[] = [];
    const until: number[] = [];
    const counting: Channel = {
      send: async () => {
        const rows = await world.store.read((db) =>
          db.selectFrom('delivery').select('leaseUntilMs').where('state', '=', 'sending').execute(),
        );
        held.push(rows.length);
        until.push(...rows.map(({ leaseUntilMs }) => leaseUntilMs ?? 0));
        return { outcome: 'sent' };
      },
      close: async () => {},
    };
    await world.newRunner({ channels: new Map([['mail', counting]]) }).send();
    expect(held).toHaveLength(251);
    expect(Math.max(...held)).toBeLessThanOrEqual(100);
    // With the look of every ten seconds that finds it.
    expect(Math.max(...until) + 10_000).toBeLessThanOrEqual(at('09:01'));
  });
});
