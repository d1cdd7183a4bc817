import { mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { restore } from '../../src/store/backup.js';
import { backUpDaily, dailyBackups, keptBackups } from '../../src/store/dailyBackup.js';
import { openStore } from '../../src/store/openStore.js';
import { listPatients } from '../../src/store/patients.js';
import { openTestClinic, owner, type TestClinic, Visitor } from './clinic.js';

let clinic: TestClinic;
let ada: Visitor;
beforeAll(async () => {
  clinic = await openTestClinic();
  ada = new Visitor(() => clinic.service.address);
  await ada.post(new URL(clinic.service.firstLink ?? '').pathname, owner);
});
afterAll(() => clinic.remove());

const backups = () => dailyBackups(join(clinic.folder, 'backups'));
const dayMs = 24 * 3_600_000;

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
