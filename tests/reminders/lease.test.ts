import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Sender } from '../../src/reminders/sender.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { readMessages } from '../../src/session/readClinicWords.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, recordingChannel, templates, type World, zone } from './world.js';

let world: World;
let close: () => Promise<void>;
beforeAll(async () => {
  const opened = await openSqliteStore();
  close = opened.close;
  world = await openWorld(opened.store);
  await world.agree('reminders');
  await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
});
afterAll(() => close());

describe('R2: what is claimed', () => {
  it('R2: is handed over only where that surely ends before the lease does; otherwise it is let go, untried', async () => {
    await world.runner.plan();
    world.set(wallClockInstant(firstDay, '09:00', zone));
    const { channel, sent } = recordingChannel(world.now);
    const messages = await readMessages(templates);
    const send = async (handingMs: number) => {
      let asked = 0;
      const sender = new Sender({
        ...{ store: world.store, channels: new Map([['mail', channel]]), messages, secrets: world.secrets },
        ...{ address: 'https://clinic.example.org', owner: 'one', now: world.now, random: () => 0.5 },
        times: { handingMs, slowAfterMs: 1_000, askAgainMs: 60_000, lastAnswersMs: 10 },
        // Some rounds and no more: what is let go is due again at once.
        maySend: async () => {
          asked += 1;
          return asked <= 2;
        },
      });
      await sender.sendDue(false);
      await sender.stop();
      const own = (await world.deliveries()).find(({ slot }) => slot === `${firstDay}#1`);
      return { state: own?.state, sent: sent.length };
    };
    // A lease is 45 s long.
    expect(await send(46_000)).toEqual({ state: 'waiting', sent: 0 });
    const { attempts } = await world.store.read((db) =>
      db
        .selectFrom('delivery')
        .select('attempts')
        .where('slot', '=', `${firstDay}#1`)
        .executeTakeFirstOrThrow(),
    );
    expect(attempts, 'to let go is no attempt').toBe(0);
    expect(await send(20_000)).toEqual({ state: 'sent', sent: 1 });
  });
});
