import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { checkLines } from '../../src/checks/check.js';
import { Troubles } from '../../src/checks/troubles.js';
import { checkZones } from '../../src/checks/zoneCheck.js';
import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { useZoneTables } from '../../src/schedule/zoneRules.js';
import { isPlanningHere, replanForZoneRelease, watchZoneData } from '../../src/service/zoneWatch.js';
import type { Store } from '../../src/store/engine/openStore.js';
import { patientById } from '../../src/store/people/chart.js';
import { readKeptZones } from '../../src/zones/keptZones.js';
import { isNewer, openZoneData } from '../../src/zones/zoneData.js';
import { firstDay, openWorld, zone } from '../reminders/world.js';
import { openSqliteStore } from '../store/databases.js';
import { openClinicWithPerson, owner } from '../support/clinic.js';
import { compileZones } from './oracle.js';

/** As if Germany had summer time all the year from 1 December 2026 on, and Austria were five hours ahead. */
const newLaw = `Zone Europe/Berlin 1:00 - CET 2026 Dec 1
  2:00 - CEST
Zone Europe/Vienna 5:00 - XXX
`;
const noSystem = ['/nowhere'];
afterEach(() => useZoneTables(null));

describe('the release by which times are worked out', () => {
  let folder: string;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'stillcount-zones-'));
  });
  afterEach(() => rm(folder, { recursive: true }));

  it('is the newest of what comes with Stillcount, with Node and with the system', async () => {
    const { release } = await readKeptZones();
    const used = async (options: Parameters<typeof openZoneData>[0]) => (await openZoneData(options)).used;
    expect(await used({ folders: noSystem })).toEqual({ from: 'stillcount', release });
    expect(await used({ folders: noSystem, nodeRelease: '2099b' })).toEqual({
      from: 'node',
      release: '2099b',
    });
    await writeFile(join(folder, '+VERSION'), '2099c\n');
    expect(await used({ folders: [folder], nodeRelease: '2099b' })).toEqual({
      from: 'system',
      release: '2099c',
    });
    await writeFile(
      join(folder, 'tzdata.zi'),
      '# version 2019a\n# This zic input file is in the public domain.\n',
    );
    expect((await used({ folders: [folder] })).from).toBe('stillcount');
    await writeFile(join(folder, 'tzdata.zi'), 'R A 1916');
    await writeFile(join(folder, '+VERSION'), 'newest');
    expect((await used({ folders: [folder] })).from).toBe('stillcount');
    const inOrder = ['', '2019c', '2025b', '2025z', '2025aa', '2026a'];
    for (const [index, each] of inOrder.entries())
      for (const [other, than] of inOrder.entries()) expect(isNewer(each, than)).toBe(index > other);
  });

  it('is old six months after it was out', async () => {
    const kept = await readKeptZones();
    const dayMs = 86_400_000;
    const own = await openZoneData({ folders: noSystem });
    expect(own.isOldAt(kept.releasedByMs + 180 * dayMs)).toBe(false);
    expect(own.isOldAt(kept.releasedByMs + 190 * dayMs)).toBe(true);
    // Of others only the year is known; or when the system's maker wrote it down.
    const node = await openZoneData({ folders: noSystem, nodeRelease: '2099b' });
    expect(node.isOldAt(Date.UTC(2100, 5, 30))).toBe(false);
    expect(node.isOldAt(Date.UTC(2100, 6, 15))).toBe(true);
    const finding = await checkZones({
      ...{ zoneData: async () => own, now: () => kept.releasedByMs + 190 * dayMs },
      read: () => Promise.reject(new Error('not asked')),
    });
    expect(finding).toMatchObject({
      state: 'warning',
      found: expect.stringMatching(/more than six months old/),
    });
  });

  it('is refused where what comes with Stillcount is damaged, by its line', async () => {
    const text = await readFile('src/zones/kept.txt', 'utf8');
    for (const [damage, line] of [
      [text.slice(1), 1],
      [text.replace(/(\nAfrica\/Algiers CET-1) 3600/, '$1 36x0'), 6],
      [text.replace(/\nAfrica\/Algiers CET-1 3600/, '\nAfrica/Algiers CET-1 3600 5'), 6],
    ] as const) {
      await writeFile(join(folder, 'kept.txt'), damage);
      await expect(readKeptZones(join(folder, 'kept.txt'))).rejects.toThrow(new RegExp(`line ${line}[^0-9]`));
    }
    await expect(readKeptZones(join(folder, 'missing.txt'))).rejects.toThrow(/install Stillcount again/);
  });
});

describe('a newer release on the system', () => {
  it('is followed by the reminders of a service that runs, and planned ones are moved', async (context) => {
    const compiled = await compileZones('2099a', newLaw);
    context.skip(compiled === null, 'no zic (Debian: libc-bin)');
    if (compiled === null) return;
    await rm(join(compiled, 'tzdata.zi'));
    const zoneData = await openZoneData({ folders: [compiled] });
    const { store, close } = await openSqliteStore();
    const world = await openWorld(store);
    const logged: object[] = [];
    const troubles = new Troubles(world.now);
    const log = (event: object) => logged.push(event);
    const service = { store, zoneData, log, troubles, now: world.now };
    await replanForZoneRelease(service);
    await world.agree('reminders');
    await world.prescribe({ timesADay: 1, timesOfDay: ['09:00'] });
    await world.runAt(firstDay, '20:00');
    const tomorrow = async () => (await world.deliveries()).find(({ slot }) => slot === '2026-12-01#1');
    expect((await tomorrow())?.forAtMs).toBe(Date.UTC(2026, 11, 1, 8));
    const looked = vi.spyOn(zoneData, 'isOutdated');
    const failed: string[] = [];
    const end = watchZoneData(service, [compiled], (what) => failed.push(what));
    await expect.poll(() => looked.mock.settledResults).toEqual([{ type: 'fulfilled', value: false }]);
    expect(logged, 'nothing newer').toEqual([]);
    await writeFile(join(compiled, 'tzdata.zi'), '# version 2099a\n');
    // The clock is set back: a look that waited for its next time of day would be a long way off.
    const nowMs = world.now();
    world.set(nowMs - 3 * 3_600_000);
    await expect
      .poll(() => logged, { timeout: 20_000 })
      .toEqual([{ event: 'zone-data-updated', release: '2099a' }]);
    await end();
    expect(failed).toEqual([]);
    world.set(nowMs);
    await world.run();
    expect((await tomorrow())?.forAtMs).toBe(Date.UTC(2026, 11, 1, 7));
    await world.runEveryMinute(Date.UTC(2026, 11, 1, 6, 58), Date.UTC(2026, 11, 1, 7, 1));
    expect(await tomorrow()).toMatchObject({ state: 'sent', settledAtMs: Date.UTC(2026, 11, 1, 7) });
    expect(world.sent.at(-1)?.text).toContain('9:00');
    expect(world.failures).toEqual([]);
    await close();
  });

  it('stands on the first page, and its owner is told of patients whose clocks differ', async (context) => {
    const compiled = await compileZones('2099a', newLaw);
    context.skip(compiled === null, 'no zic (Debian: libc-bin)');
    if (compiled === null) return;
    const { clinic, ada } = await openClinicWithPerson({ TZDIR: compiled });
    const page = (await (await ada.get('/')).text()).replaceAll('&#x2F;', '/');
    expect(page).toContain('IANA release 2099a, from this computer.');
    const { release } = await readKeptZones();
    expect(page).toContain(
      `Release ${release}, supplied with Stillcount, has different clock changes for Europe/Vienna (1 patient).`,
    );
    expect(page).toContain('Reminders follow the newer release 2099a');
    await clinic.restart();
    const checked = clinic.service.checked.filter(({ name }) => name === 'time zones');
    expect(checkLines(checked)[0]).toMatch(
      /^WARNING +time zones +IANA release 2099a, of this computer, is in use; .*Europe\/Vienna \(patients: 1\)/,
    );
    const old = 'The time zone rules are more than six months old.';
    expect(page, 'its files were written today').not.toContain(old);
    clinic.clock.aheadMs = 190 * 86_400_000;
    await ada.post('/sign-in', { email: owner.email, password: owner.password });
    expect(await (await ada.get('/')).text()).toContain(old);
    await clinic.remove();
  });
});

describe('two services on one database with different releases', () => {
  it('leave reminders to the newer one while it is at work, warn from both, and the older one says so', async () => {
    const { store, close } = await openSqliteStore();
    const world = await openWorld(store);
    // Whether it is shared is all that is asked of the kind.
    const shared: Store = { ...store, kind: 'postgres' };
    const logged: object[] = [];
    const serviceWith = async (nodeRelease: string, on = shared) => ({
      ...{ store: on, zoneData: await openZoneData({ folders: noSystem, nodeRelease }) },
      ...{ troubles: new Troubles(world.now), log: (event: object) => logged.push(event), now: world.now },
    });
    const [older, newer] = [await serviceWith('2098b'), await serviceWith('2099a')];
    const planning = () =>
      store.read(async (db) => [await isPlanningHere(db, older), await isPlanningHere(db, newer)]);
    await replanForZoneRelease(older);
    expect(await planning()).toEqual([true, true]);
    await replanForZoneRelease(newer);
    expect(await planning(), 'at once').toEqual([false, true]);
    await replanForZoneRelease(older);
    await replanForZoneRelease(older);
    const cause = 'release 2099a there, 2098b here';
    expect(older.troubles.all()).toEqual([expect.objectContaining({ kind: 'zones-left', cause })]);
    expect(newer.troubles.all()).toEqual([]);
    expect(logged, 'once').toEqual([{ event: 'trouble', code: 'zones-left', cause }]);

    world.set(world.now() + 14 * 60_000);
    await replanForZoneRelease(newer);
    world.set(world.now() + 14 * 60_000);
    expect(await planning(), 'it said so a quarter of an hour ago').toEqual([false, true]);
    world.set(world.now() + 3 * 60_000);
    expect(await planning(), 'rather by older rules than not at all').toEqual([true, true]);
    await replanForZoneRelease(older);
    expect(older.troubles.all()).toEqual([expect.objectContaining({ kind: 'zones-older', cause })]);
    await world.prescribe({ timesADay: 1, timesOfDay: ['08:00'] });
    await world.run();
    const toPlanAtMs = () =>
      store.read((db) => db.selectFrom('reminderWatch').select('planAtMs').executeTakeFirst());
    expect(await toPlanAtMs()).not.toEqual({ planAtMs: 0 });
    await replanForZoneRelease(newer);
    expect(await toPlanAtMs(), 'the older one may have planned meanwhile').toEqual({ planAtMs: 0 });
    await world.run();
    await replanForZoneRelease(newer);
    expect(await toPlanAtMs(), 'once').not.toEqual({ planAtMs: 0 });
    const alone = await serviceWith('2098b', store);
    await replanForZoneRelease(alone);
    expect(alone.troubles.all(), 'nobody else can hold a file').toMatchObject([{ kind: 'zones-older' }]);
    expect(await store.read((db) => isPlanningHere(db, alone))).toBe(true);
    await close();
  });

  it('the older one plans and sends no reminder, and sends warning signs', async () => {
    const { store, close } = await openSqliteStore();
    const world = await openWorld(store);
    await world.agree('reminders');
    await world.prescribe({ timesADay: 1, timesOfDay: ['08:00'] });
    world.set(wallClockInstant(firstDay, '07:00', zone));
    const older = world.newRunner({ mayPlan: async () => false });
    const runOlder = async () => {
      await older.plan();
      await older.send();
      await older.sendWarnings();
    };
    await runOlder();
    expect(await world.deliveries()).toEqual([]);
    await world.run();
    world.set(wallClockInstant(firstDay, '08:00', zone));
    const { clinicId, patientId, telling, secrets } = world;
    await store.write(async (db) => {
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      await notifyOfWarning(db, { clinicId, patient, warningId: 'w', telling, nowMs: world.now() }, secrets);
    });
    await runOlder();
    expect(world.sent.map(({ kind }) => kind)).toEqual(['warning']);
    await world.run();
    expect(world.sent.map(({ kind }) => kind)).toEqual(['warning', 'due']);
    await close();
  });
});
