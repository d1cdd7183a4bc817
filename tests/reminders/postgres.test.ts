import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Channel } from '../../src/channels/channel.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { openStore, type Store } from '../../src/store/engine/openStore.js';
import { insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { hasServer, whyNoServer } from '../store/databases.js';
import { makePostgresServer, type PostgresServer, postgresPrograms } from '../store/postgresServer.js';
import { firstDay, openWorld, recordingChannel, type World, zone } from './world.js';

const count = 2_000;
const dueAtMs = wallClockInstant(firstDay, '09:00', zone);

describe.skipIf(!hasServer && process.env.CI !== 'true')('two processes on one PostgreSQL', () => {
  let store: Store;
  let other: Store;
  let world: World;
  let server: PostgresServer;
  beforeAll(async () => {
    const programs = postgresPrograms();
    if (programs === undefined) throw new Error(whyNoServer);
    server = await makePostgresServer(programs);
    store = await openStore({ kind: 'postgres', url: server.url, backups: 'none' });
    other = await openStore({ kind: 'postgres', url: server.url, backups: 'none' });
    world = await openWorld(store);
    await world.agree('reminders');
  });
  afterAll(async () => {
    await other.close();
    await store.close();
    await server.remove();
  });

  it('plan a patient once between them', async () => {
    await world.prescribe({ timesADay: 2, timesOfDay: ['09:00', '17:00'] });
    world.set(dueAtMs - 60_000);
    const second = world.newRunner({ store: other });
    await Promise.all([world.runner.plan(), second.plan()]);
    const planned = await world.deliveries();
    expect(new Set(planned.map(({ slot }) => slot)).size).toBe(planned.length);
    expect(planned.filter(({ slot }) => slot?.startsWith(firstDay))).toHaveLength(2);
  });

  /** Deliveries that are due at nine, beside the planned one. */
  async function insertCopies(name: string, copies: number): Promise<void> {
    const [first] = await world.deliveries();
    const row = await store.read((db) =>
      db
        .selectFrom('delivery')
        .selectAll()
        .where('id', '=', first?.id ?? '')
        .executeTakeFirstOrThrow(),
    );
    const { clinicId, patientId, prescriptionId, contactId } = row;
    const due = Array.from({ length: copies }, (_, index) => ({
      ...{ key: `${name} ${index}`, clinicId, patientId, prescriptionId, contactId, kind: 'due' as const },
      ...{ slot: `${firstDay}#1`, slotDueAtMs: dueAtMs, subject: null, caregiverId: null },
      ...{ forAtMs: dueAtMs, nextAtMs: dueAtMs, goodUntilMs: dueAtMs + 3_600_000 },
    }));
    await store.write((db) => insertDeliveries(db, due));
  }

  it('send thousands at one minute, each once, and both do their share', async () => {
    await insertCopies('copy', count);
    const others = recordingChannel(world.now);
    const second = world.newRunner({ store: other, channels: new Map([['mail', others.channel]]) });
    world.set(dueAtMs);
    world.sent.length = 0;
    await Promise.all([world.runner.send(), second.send()]);
    const keys = [...world.sent, ...others.sent].map(({ key }) => key);
    expect(keys, 'the copies and the first one').toHaveLength(count + 1);
    expect(new Set(keys).size).toBe(count + 1);
    expect(Math.min(world.sent.length, others.sent.length), 'of the smaller share').toBeGreaterThan(
      count / 10,
    );
  });

  it('write down what was sent once the database is back, and send nothing of it again', async () => {
    await insertCopies('gone', 300);
    world.sent.length = 0;
    const stopAt = 100;
    const mail = recordingChannel(world.now);
    const stopping: Channel = {
      send: async (...message) => {
        if (mail.sent.length === stopAt) await server.stop();
        return mail.channel.send(...message);
      },
      close: async () => {},
    };
    const runner = world.newRunner({ channels: new Map([['mail', stopping]]) });
    await expect(runner.send()).rejects.toThrow();
    const before = mail.sent.length;
    expect(before).toBeGreaterThan(stopAt);
    await expect(runner.send(), 'it claims nothing as long as it could not write').rejects.toThrow();
    expect(mail.sent).toHaveLength(before);
    await server.start();
    await runner.send();
    // What others hold, as after a crash, is free again when the lease is over.
    world.set(dueAtMs + 2 * 60_000);
    await runner.send();
    const keys = mail.sent.map(({ key }) => key);
    expect(new Set(keys).size, 'each once').toBe(keys.length);
    expect(keys).toHaveLength(300);
    const waiting = await store.read((db) =>
      db
        .selectFrom('delivery')
        .select('id')
        .where('key', 'like', 'gone %')
        .where('state', '!=', 'sent')
        .execute(),
    );
    expect(waiting).toEqual([]);
  });
});
