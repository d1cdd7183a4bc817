import { fork } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { keyOfMessageId } from '../../src/channels/messageId.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { openStore, readSnapshot } from '../../src/store/engine/openStore.js';
import { insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { bundleProgram } from '../bundle.js';
import { openMailServerForTest, type TestMailServer } from '../channels/mailServer.js';
import { isWhole } from '../long.js';
import { firstDay, openWorld, zone } from './world.js';

/** Every step is died at once in any case; the rest die by chance. */
const kills = isWhole('reminders') ? 200 : 20;
/** In each life some reminders come to be due. */
const dueInALife = 3;
/** Longer than a lease: what a life held is free for the next one. */
const betweenLivesMs = 100_000;

let folder: string;
let file: string;
let life: string;
let server: TestMailServer;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-crash-'));
  file = join(folder, 'clinic.db');
  life = await bundleProgram('tests/reminders/life.ts');
  server = await openMailServerForTest();
});
afterAll(async () => {
  await server.stop();
  await rm(folder, { recursive: true, force: true });
});

/** @returns how many steps there were, or null when it died at one */
function live(atMs: number, dieAt: number): Promise<number | null> {
  return new Promise((resolve, reject) => {
    const url = `smtp://127.0.0.1:${server.port}`;
    const child = fork(life, [file, url, String(atMs), String(dieAt)], { execArgv: [] });
    let steps: number | null = null;
    child.on('message', (message: { steps: number }) => {
      steps = message.steps;
    });
    child.on('exit', (code, signal) => {
      if (code === 0 || signal === 'SIGKILL') resolve(steps);
      else reject(new Error(`a life ended with ${code}`));
    });
  });
}

describe('sending reminders', () => {
  it(`killed ${kills} times, at every step, loses none and repeats none that was recorded`, {
    timeout: 1_800_000,
  }, async () => {
    const startMs = wallClockInstant(firstDay, '08:00', zone);
    const store = await openStore({ kind: 'sqlite', file });
    const world = await openWorld(store);
    await world.agree('reminders');
    const prescriptionId = await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    await world.runAt(firstDay, '07:00');
    const { contactId } = await store.read((db) =>
      db.selectFrom('delivery').select('contactId').limit(1).executeTakeFirstOrThrow(),
    );
    const dueFor = (round: number) =>
      Array.from({ length: dueInALife }, (_, index) => ({
        ...{ key: `${round} ${index}`, clinicId: world.clinicId, patientId: world.patientId, prescriptionId },
        ...{ contactId, kind: 'due' as const, slot: `${firstDay}#1`, slotDueAtMs: startMs, subject: null },
        ...{ caregiverId: null, forAtMs: startMs, nextAtMs: startMs + round * betweenLivesMs },
        goodUntilMs: startMs + 1e9,
      }));
    // The rules of the patient make them good for as long as the test lasts.
    await store.write(async (db) => {
      await insertDeliveries(db, Array.from({ length: kills + 1 }, (_, round) => dueFor(round)).flat());
      await db
        .insertInto('reminderRules')
        .values({
          ...{ patientId: world.patientId, quietFrom: '00:00', quietUntil: '00:00', graceMinutes: 20_000 },
          ...{ caregiverAfterMinutes: null, quietAfterDays: 3 },
        })
        .execute();
    });
    await store.close();

    const recordedBefore = new Set<string>();
    const repeated: string[] = [];
    let seen = 0;
    /** After each life: what came in during it must not have been recorded before it. */
    const check = async () => {
      for (const { parsed } of server.received.slice(seen)) {
        const key = keyOfMessageId(parsed.messageId ?? '') ?? '';
        if (recordedBefore.has(key)) repeated.push(key);
      }
      seen = server.received.length;
      const rows = await readSnapshot({ kind: 'sqlite', file }, (db) =>
        db.selectFrom('delivery').select('id').where('state', '=', 'sent').execute(),
      );
      for (const { id } of rows) recordedBefore.add(id);
    };
    const whole = await live(startMs, 0);
    expect(whole, 'of claiming, asking, sending and recording').toBeGreaterThan(dueInALife * 2 + 6);
    expect(kills, 'at every step').toBeGreaterThanOrEqual(Number(whole));
    await check();
    // Every step in its turn, and beyond the last one some by chance: a life with more to do has more of them.
    const chance = fc.sample(fc.integer({ min: 1, max: 2 * Number(whole) }), kills);
    const deaths = chance.map((any, round) => (round < Number(whole) ? round + 1 : any));
    let killed = 0;
    for (const [round, dieAt] of deaths.entries()) {
      if ((await live(startMs + (round + 1) * betweenLivesMs, dieAt)) === null) killed += 1;
      await check();
    }
    expect(killed, 'most of them died on the way').toBeGreaterThan(kills / 2);
    // What the last ones tried in vain waits longer each time.
    for (const hours of [0, 1, 3, 6, 12, 24]) {
      await live(startMs + (kills + 2) * betweenLivesMs + hours * 3_600_000, 0);
      await check();
    }

    const after = await readSnapshot({ kind: 'sqlite', file }, (db) =>
      db.selectFrom('delivery').select(['id', 'state', 'key']).execute(),
    );
    const ours = after.filter(({ key }) => /^\d+ \d$/.test(key));
    expect(ours.filter(({ state }) => state !== 'sent')).toEqual([]);
    expect(ours).toHaveLength((kills + 1) * dueInALife);
    const arrived = new Set(server.received.map(({ parsed }) => keyOfMessageId(parsed.messageId ?? '')));
    expect(
      ours.filter(({ id }) => !arrived.has(id)),
      'lost',
    ).toEqual([]);
    expect(repeated, 'sent after it was recorded').toEqual([]);
  });
});
