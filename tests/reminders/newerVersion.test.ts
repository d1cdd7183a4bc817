import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { expect, it } from 'vitest';
import type { Channel } from '../../src/channels/channel.js';
import { openStore } from '../../src/store/engine/openStore.js';
import { insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { markAtWork } from '../../src/store/service/atWork.js';
import { backUp } from '../../src/store/service/backup.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld } from './world.js';

it('plans and sends nothing on a database that a newer version has upgraded, and says so once', async () => {
  const { store, close } = await openSqliteStore();
  try {
    const world = await openWorld(store);
    await world.agree('reminders');
    await world.prescribe({ timesADay: 1, timesOfDay: ['08:00'] });
    await world.runAt(firstDay, '07:00');
    const told: string[] = [];
    const runner = world.newRunner({ onSuperseded: (steps) => told.push(...steps) });
    const run = async () => {
      await runner.plan();
      await runner.sendWarnings();
      await runner.makeAhead();
      await runner.send();
    };
    const later = '9999-from-later';
    await store.write((db) => sql`insert into kysely_migration values (${later}, '2030-01-01')`.execute(db));
    world.set(world.now() + 3_600_000);
    const watches = () => store.read((db) => db.selectFrom('reminderWatch').selectAll().execute());
    const before = [await watches(), await world.deliveries()];
    await run();
    await run();
    expect(world.sent).toEqual([]);
    expect([await watches(), await world.deliveries()]).toEqual(before);
    expect(told).toEqual([later]);
    expect([runner.isSuperseded, runner.isAbandoned], 'a newer one has had no time to say so').toEqual([
      true,
      false,
    ]);
    const afterAWhile = async (isSaid: boolean) => {
      world.set(world.now() + 16 * 60_000);
      if (isSaid) await store.write((db) => markAtWork(db, world.now() - 5 * 60_000));
      await run();
      return runner.isAbandoned;
    };
    expect([await afterAWhile(true), await afterAWhile(false), await afterAWhile(true)]).toEqual([
      false,
      true,
      false,
    ]);
    world.set(world.now() - 48 * 60_000);
    await store.write((db) => sql`delete from kysely_migration where name = ${later}`.execute(db));
    await run();
    expect(world.sent.map(({ kind }) => kind)).toEqual(['due']);
    expect([runner.isSuperseded, runner.isAbandoned]).toEqual([false, false]);
  } finally {
    await close();
  }
});

it('gives back what it has claimed and not handed over when a newer version comes meanwhile, and says what it has sent', async () => {
  const { store, close } = await openSqliteStore();
  try {
    const world = await openWorld(store);
    await world.agree('reminders');
    await world.prescribe({ timesADay: 1, timesOfDay: ['08:00'] });
    await world.runAt(firstDay, '07:00');
    const [first] = await store.read((db) => db.selectFrom('delivery').selectAll().limit(1).execute());
    if (first === undefined) throw new RangeError('one is planned');
    const { clinicId, patientId, prescriptionId, contactId, slot, slotDueAtMs, forAtMs } = first;
    const copies = Array.from({ length: 60 }, (_, index) => ({
      ...{ key: `copy ${index}`, clinicId, patientId, prescriptionId, contactId, kind: 'due' as const },
      ...{ slot, slotDueAtMs, subject: null, caregiverId: null, forAtMs, nextAtMs: forAtMs },
      goodUntilMs: forAtMs + 3_600_000,
    }));
    await store.write((db) => insertDeliveries(db, copies));
    world.set(forAtMs);
    let sent = 0;
    const channel: Channel = {
      send: async () => {
        sent += 1;
        if (sent === 20)
          await store.write((db) =>
            sql`insert into kysely_migration values ('9999-from-later', '2030-01-01')`.execute(db),
          );
        return { outcome: 'sent' };
      },
      close: async () => {},
    };
    const times = { handingMs: 20_000, slowAfterMs: 3_000, askAgainMs: 0, lastAnswersMs: 10_000 };
    await world.newRunner({ channels: new Map([['mail', channel]]), times }).send();
    const states = await store.read((db) =>
      db
        .selectFrom('delivery')
        .select(['state', 'nextAtMs', 'attempts'])
        .where('forAtMs', '=', forAtMs)
        .execute(),
    );
    const left = states.filter(({ state }) => state === 'waiting');
    expect(sent, 'those that were under way at that moment').toBeLessThan(40);
    expect(states.filter(({ state }) => state === 'sent')).toHaveLength(sent);
    expect(left).toHaveLength(61 - sent);
    expect(
      left.every(({ nextAtMs, attempts }) => nextAtMs === forAtMs && attempts === 0),
      'at once, as if untried',
    ).toBe(true);
  } finally {
    await close();
  }
});

it('makes no backup of what only the newer version knows', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-newer-'));
  const settings = { kind: 'sqlite', file: join(folder, 'clinic.db') } as const;
  const store = await openStore(settings);
  await store.write((db) =>
    sql`insert into kysely_migration values ('9999-from-later', '2030-01-01')`.execute(db),
  );
  await expect(backUp(settings, join(folder, 'daily.backup'))).rejects.toThrow(
    /newer version of Stillcount works/,
  );
  expect(await readdir(folder)).not.toContain('daily.backup');
  await store.close();
  await rm(folder, { recursive: true });
});
