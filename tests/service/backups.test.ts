import { mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { longChecks } from '../../src/checks/longChecks.js';
import { Troubles } from '../../src/checks/troubles.js';
import type { Log } from '../../src/log/log.js';
import { checkNewestBackup, scheduleBackups } from '../../src/service/backups.js';
import { openStore } from '../../src/store/engine/openStore.js';
import { listPatients } from '../../src/store/people/patients.js';
import { restore } from '../../src/store/service/backup.js';
import {
  backUpDaily,
  dailyBackups,
  hasBackupWithin,
  keptBackups,
} from '../../src/store/service/dailyBackup.js';
import { openTestClinic, owner, type TestClinic, Visitor } from '../support/clinic.js';

let clinic: TestClinic;
let ada: Visitor;
beforeAll(async () => {
  clinic = await openTestClinic();
  ada = new Visitor(() => clinic.service.address);
  await ada.post(new URL(clinic.service.firstLink ?? '').pathname, owner);
});
afterEach(() => {
  vi.useRealTimers();
});
afterAll(() => clinic.remove());

const backups = () => dailyBackups(join(clinic.folder, 'backups'));
const hourMs = 3_600_000;
const dayMs = 24 * hourMs;

/** Starts the service anew, so many days later, and lets it finish what it does at a start. */
async function restartDaysLater(days: number): Promise<void> {
  clinic.clock.aheadMs += days * dayMs;
  await clinic.restart();
}

describe('the daily backup', () => {
  it('is made at a start when the newest one is older than a day, and holds everything', async () => {
    expect(await backups(), 'there was no clinic when it started').toEqual([]);
    await ada.submit('/patients/new', { name: 'Rosa Lind', zone: 'Europe/Vienna', birthYear: '1944' });
    await restartDaysLater(0);
    // Ended again, it has finished what it began.
    await clinic.service.stop();
    const [made, ...others] = await backups();
    expect(others).toEqual([]);
    await clinic.restart();
    await clinic.service.stop();
    expect(await backups(), 'one of today is enough').toEqual([made]);
    const restored = { kind: 'sqlite', file: join(clinic.folder, 'restored', 'clinic.db') } as const;
    await restore(made?.file ?? '', restored);
    const store = await openStore(restored);
    const clinicIds = await store.read((db) => db.selectFrom('clinic').select('id').execute());
    const { patients } = await store.read((db) => listPatients(db, clinicIds[0]?.id ?? '', ''));
    expect(patients.map(({ name }) => name)).toEqual(['Rosa Lind']);
    await store.close();
    await restartDaysLater(2);
    await clinic.restart();
    expect(await backups()).toHaveLength(2);
  });

  it.each([
    ['on', 2],
    ['back', -10],
  ])(
    'is made by a service that runs, also when its clock was set %s by days, and once',
    async (_way, days) => {
      const before = await backups();
      clinic.clock.aheadMs += days * dayMs;
      const made = async () =>
        (await backups()).filter(({ file }) => before.every((each) => each.file !== file));
      await expect.poll(async () => (await made()).length, { timeout: 20_000 }).toBe(1);
      await clinic.restart();
      await clinic.service.stop();
      expect(await made()).toHaveLength(1);
      await clinic.restart();
    },
  );

  it('is looked for by a clock that nobody sets, and what is too old is told of', async () => {
    await clinic.service.stop();
    const settings = { kind: 'sqlite', file: join(clinic.folder, 'clinic.db') } as const;
    const store = await openStore(settings);
    const folder = join(clinic.folder, 'by the interval');
    let nowMs = Date.UTC(2026, 10, 25, 12);
    const troubles = new Troubles(() => nowMs);
    const logged: string[] = [];
    const log: Log = ({ event }) => logged.push(event);
    const parts = { store, settings, folder, troubles, log, now: () => nowMs };
    const failed: string[] = [];
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] });
    // Neither a leap nor a time of day: the interval alone is left.
    const never = { wallMs: () => 0, steadyMs: () => 0 };
    const end = scheduleBackups(parts, (what) => failed.push(what), never);
    const count = async () => (await dailyBackups(folder)).length;
    // The work is over with the line about it; the file is there before.
    await expect.poll(() => logged).toEqual(['backup-made']);
    expect(await count()).toBe(1);
    nowMs += 30 * hourMs;
    await checkNewestBackup(parts, 0);
    expect(troubles.all()).toMatchObject([
      { kind: 'backup-too-old', cause: 'the newest one is of 2026-11-25T12:00Z' },
    ]);
    vi.advanceTimersByTime(hourMs);
    await expect.poll(count).toBe(2);
    await expect.poll(() => troubles.all()).toEqual([]);
    vi.advanceTimersByTime(hourMs);
    await end();
    expect([await count(), failed], 'not twice').toEqual([2, []]);

    const none = { ...parts, folder: join(clinic.folder, 'none yet') };
    await checkNewestBackup(none, 25 * hourMs);
    expect(troubles.all(), 'it has just begun').toEqual([]);
    await checkNewestBackup(none, 27 * hourMs);
    expect(troubles.all()).toMatchObject([{ kind: 'backup-too-old', cause: 'there is none' }]);
    await store.close();
    vi.useRealTimers();
    await clinic.restart();
  });

  it('that fails stands on the first page of an owner with its cause, until one is made', async () => {
    const folder = join(clinic.folder, 'backups');
    await rm(folder, { recursive: true });
    await writeFile(folder, 'in the way');
    await restartDaysLater(2);
    await ada.post('/sign-in', owner);
    await expect
      .poll(async () => (await ada.get('/')).text())
      .toContain('The daily backup could not be made');
    const page = await (await ada.get('/')).text();
    expect(page).toContain('a part of the path is a file, not a folder');
    expect(clinic.logged.join('\n')).toContain('"event":"trouble","code":"backup-failed","cause":"');
    await rm(folder);
    await clinic.restart();
    await expect.poll(async () => (await backups()).length).toBe(1);
    await expect
      .poll(async () => (await ada.get('/')).text())
      .not.toContain('The daily backup could not be made');
  });

  it('keeps fourteen, and nothing of others is taken away', async () => {
    const folder = join(clinic.folder, 'kept');
    const settings = { kind: 'sqlite', file: join(clinic.folder, 'clinic.db') } as const;
    await mkdir(folder);
    await writeFile(join(folder, 'before-the-move.backup'), 'mine');
    const firstMs = Date.UTC(2026, 0, 1, 3, 40);
    for (let day = 0; day < keptBackups + 2; day += 1)
      await backUpDaily(settings, { folder, nowMs: firstMs + day * dayMs });
    const kept = await dailyBackups(folder);
    expect(kept).toHaveLength(14);
    expect(kept.at(-1)?.madeAtMs).toBe(firstMs + 2 * dayMs);
    expect(await readdir(folder)).toContain('before-the-move.backup');
    // The clock was a year ahead all the time: what is made now must not be the first to go.
    const backMs = firstMs - 365 * dayMs;
    await backUpDaily(settings, { folder, nowMs: backMs });
    const left = await dailyBackups(folder);
    expect([left.length, left.at(-1)?.madeAtMs]).toEqual([14, backMs]);
  });

  it('dated ahead by a clock that has been set back is not taken for the newest one', async () => {
    const folder = join(clinic.folder, 'dated ahead');
    const settings = { kind: 'sqlite', file: join(clinic.folder, 'clinic.db') } as const;
    const nowMs = Date.UTC(2026, 10, 25, 12);
    const parts = { environment: {}, database: settings, mailTo: null, now: () => nowMs };
    const folders = { dataFolder: clinic.folder, templatesFolder: 'audio-templates', backupFolder: folder };
    const looked = (name: string) =>
      longChecks({ ...parts, folders })
        .find((check) => check.name === name)
        ?.look();
    const aheadMs = nowMs + 20 * hourMs;
    await backUpDaily(settings, { folder, nowMs: aheadMs });
    expect(await looked('backup')).toMatchObject({
      state: 'warning',
      found: expect.stringMatching(
        /^1 in .*, none dated before now; 1 dated later than this computer’s clock, .*2026-11-26$/,
      ),
    });
    expect(hasBackupWithin(await dailyBackups(folder), nowMs, 25 * hourMs), 'one is made now').toBe(false);
    const made = await backUpDaily(settings, { folder, nowMs: nowMs - 12 * hourMs });
    expect(hasBackupWithin(await dailyBackups(folder), nowMs, 25 * hourMs)).toBe(true);
    expect(await looked('backup')).toMatchObject({
      found: expect.stringMatching(/^2 in .*, the newest 0\.5 days old; 1 dated later/),
    });
    // The one that is dated right is what is restored: the other one cannot even be read.
    await writeFile(join(folder, `daily-20261126T080000Z.backup`), 'no backup');
    expect(await looked('restore')).toMatchObject({ found: expect.stringContaining(`: ${made.rows} rows`) });
  });
});

describe('the data folder', () => {
  it('says that a copy of the database file alone is no backup, and where backups are', async () => {
    const text = await readFile(join(clinic.folder, 'README.txt'), 'utf8');
    expect(text).toContain('a copy of clinic.db alone may lack');
    expect(text).toContain('stillcount backup FILE');
    expect(text).toContain(join(clinic.folder, 'backups'));
  });
});
