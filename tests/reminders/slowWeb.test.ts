import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Channel } from '../../src/channels/channel.js';
import { newVapidKeys, openPush } from '../../src/channels/push.js';
import { openTextGateway } from '../../src/channels/text.js';
import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import type { Runner } from '../../src/reminders/runner.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { patientById } from '../../src/store/people/chart.js';
import { TestBrowser } from '../channels/subscription.js';
import { openReceiver, type TestReceiver } from '../channels/webReceiver.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, type World, zone } from './world.js';

const at = (time: string, day = firstDay) => wallClockInstant(day, time, zone);

/** The way over the network is the channel's own; where it leads is a receiver of this test, whoever it is for. */
const ways = {
  text: (address: string, answerMs: number): Channel => {
    const secret = 'a secret of thirty-two characters or more';
    const channel = openTextGateway({ url: new URL(address), secret }, Date.now, {
      handingMs: 20_000,
      answerMs,
    });
    return { ...channel, send: (_to, ...rest) => channel.send({ to: '+4930123456' }, ...rest) };
  },
  push: (address: string, answerMs: number): Channel => {
    const times = { handingMs: 20_000, answerMs };
    const keys = newVapidKeys();
    const channel = openPush({ keys, contact: 'mailto:a@clinic.example', times, allowsLoopback: true });
    const browser = new TestBrowser(`${address}/push/1`).subscription();
    return { ...channel, send: (_to, ...rest) => channel.send(browser, ...rest) };
  },
};

describe.each(['text', 'push'] as const)('another end that is slow to answer, over %s', (way) => {
  let world: World;
  let close: () => Promise<void>;
  let receiver: TestReceiver;
  let channel: Channel;
  beforeEach(async () => {
    const opened = await openSqliteStore();
    close = opened.close;
    world = await openWorld(opened.store);
    await world.agree('reminders');
    await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    receiver = await openReceiver();
  });
  afterEach(async () => {
    receiver.hold.release();
    await channel.close();
    await receiver.stop();
    await close();
    expect(world.failures).toEqual([]);
  });

  const runner = (answerMs: number): Runner => {
    channel = ways[way](receiver.address, answerMs);
    return world.newRunner({
      channels: new Map([['mail', channel]]),
      times: { handingMs: 20_000, slowAfterMs: 20, askAgainMs: 1_000, lastAnswersMs: 60_000 },
    });
  };
  const due = async () => (await world.deliveries()).find(({ slot }) => slot === `${firstDay}#1`);
  /** What names a message for ever, as each way has it. */
  const keys = () =>
    receiver.received.map(({ headers }) => String(headers['idempotency-key'] ?? headers.topic));

  async function warn(): Promise<void> {
    const { store, clinicId, patientId, secrets, telling, now } = world;
    await store.write(async (db) => {
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      await notifyOfWarning(db, { clinicId, patient, warningId: 'w', telling, nowMs: now() }, secrets);
    });
  }

  it('gets one copy, whatever the clock and the lease say meanwhile, and holds up nobody else', async () => {
    const slow = runner(60_000);
    receiver.behaviour = 'hold';
    world.set(at('09:00'));
    await slow.plan();
    await slow.send();
    await receiver.hold.held();
    expect(await due()).toMatchObject({ state: 'sending', why: 'answer-unknown' });
    world.set(at('11:00'));
    await slow.plan();
    await slow.send();
    receiver.behaviour = 201;
    await warn();
    await slow.sendWarnings();
    expect(keys(), 'the warning, while the reminder waits').toHaveLength(1);
    receiver.hold.release();
    await slow.stop();
    expect(await due()).toMatchObject({ state: 'sent', why: null });
    expect(new Set(keys()).size).toBe(2);
    expect(keys()).toHaveLength(2);
  });

  it('and answers after its time: a reminder is told to be unknown and not sent again, a warning sign is', async () => {
    const impatient = runner(200);
    receiver.behaviour = 'hold';
    world.set(at('09:00'));
    await warn();
    await impatient.plan();
    await Promise.all([impatient.send(), impatient.sendWarnings()]);
    await receiver.hold.held(2);
    await impatient.stop();
    expect(await due()).toMatchObject({ state: 'failed', why: 'answer-unknown' });
    receiver.hold.release();
    await expect.poll(() => receiver.received.length).toBe(2);
    receiver.behaviour = 201;
    world.set(at('09:02'));
    await channel.close();
    const next = runner(60_000);
    await next.plan();
    await Promise.all([next.send(), next.sendWarnings()]);
    await next.stop();
    expect(keys()).toHaveLength(3);
    // The same warning under the same name: whoever is told can leave the second copy out.
    expect(new Set(keys()).size).toBe(2);
  });
});
