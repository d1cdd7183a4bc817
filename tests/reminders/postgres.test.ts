import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { insertDeliveries } from '../../src/store/deliveries.js';
import { openStore, type Store } from '../../src/store/openStore.js';
import { hasServer, whyNoServer } from '../store/databases.js';
import { makePostgresServer, postgresPrograms } from '../store/postgresServer.js';
import { firstDay, openWorld, recordingChannel, type World, zone } from './world.js';

const count = 2_000;
const dueAtMs = wallClockInstant(firstDay, '09:00', zone);

describe.skipIf(!hasServer && process.env.CI !== 'true')('two processes on one PostgreSQL', () => {
  let store: Store;
  let other: Store;
  let world: World;
  let remove: () => Promise<void>;
  beforeAll(async () => {
    const programs = postgresPrograms();
    if (programs === undefined) throw new Error(whyNoServer);
    const server = await makePostgresServer(programs);
    remove = server.remove;
    store = await openStore({ kind: 'postgres', url: server.url });
    other = await openStore({ kind: 'postgres', url: server.url });
    world = await openWorld(store);
    await world.agree('reminders');
  });
  afterAll(async () => {
    await other.close();
    await store.close();
    await remove();
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

  it('send thousands at one minute, each once, and both do their share', async () => {
    const [first] = await world.deliveries();
    const row = await store.read((db) =>
      db
        .selectFrom('delivery')
        .selectAll()
        .where('id', '=', first?.id ?? '')
        .executeTakeFirstOrThrow(),
    );
    const { clinicId, patientId, prescriptionId, contactId } = row;
    const due = Array.from({ length: count }, (_, index) => ({
      ...{ key: `copy ${index}`, clinicId, patientId, prescriptionId, contactId, kind: 'due' as const },
      ...{ slot: `${firstDay}#1`, slotDueAtMs: dueAtMs, subject: null, caregiverId: null },
      ...{ forAtMs: dueAtMs, nextAtMs: dueAtMs, goodUntilMs: dueAtMs + 3_600_000 },
    }));
    await store.write((db) => insertDeliveries(db, due));
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
});
