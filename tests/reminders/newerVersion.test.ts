import { sql } from 'kysely';
import { expect, it } from 'vitest';
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
    expect(runner.isSuperseded).toBe(true);
    await store.write((db) => sql`delete from kysely_migration where name = ${later}`.execute(db));
    await run();
    expect(world.sent.map(({ kind }) => kind)).toEqual(['due']);
    expect(runner.isSuperseded).toBe(false);
  } finally {
    await close();
  }
});
