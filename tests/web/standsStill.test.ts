import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { Sqlite } from '../sqlite.js';
import { openClinicWithPerson, type TestClinic, type Visitor } from './clinic.js';

let clinic: TestClinic;
let ada: Visitor;
let patientPath: string;
beforeAll(async () => {
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
});
afterEach(() => {
  vi.useRealTimers();
});
afterAll(() => clinic.remove());

describe('a page that fails', () => {
  it('names a reference that the log has too, and stands on the first page until it was seen', async () => {
    const told = async () => (await ada.get('/')).text();
    const failed = /What failed[\s\S]*A page or request failed/;
    const database = new Sqlite(join(clinic.folder, 'clinic.db'));
    database.exec('alter table "measureTaken" rename to "elsewhere"');
    const reference = async () => {
      const page = await ada.get(`${patientPath}/measures`);
      expect(page.status).toBe(500);
      const [, id = ''] = /reference: <code>([\w-]{36})<\/code>/.exec(await page.text()) ?? [];
      expect(page.headers.get('x-request-id')).toBe(id);
      return id;
    };
    const first = await reference();
    const lines = clinic.logged
      .filter((line) => line.includes(first))
      .map((line) => JSON.parse(line) as object);
    const cause = 'SqliteError SQLITE_ERROR';
    expect(lines).toEqual([
      { event: 'trouble', code: 'request-failed', cause, request: first },
      expect.objectContaining({ event: 'trace', request: first }),
      expect.objectContaining({ event: 'answer', status: 500, request: first }),
    ]);
    const second = await reference();
    const page = await told();
    expect(page).toMatch(failed);
    expect(page).toContain(cause);
    expect(page).toContain('2 times, first ');
    expect(page, 'the last one').toContain(`reference <code>${second}</code>`);
    const [, upToMs = ''] = /action="\/incidents\/seen"[\s\S]*?name="upToMs" value="(\d+)"/.exec(page) ?? [];
    await ada.submit('/incidents/seen', { upToMs });
    expect(await told()).not.toMatch(failed);
    await reference();
    expect(await told(), 'it happened again').toContain('3 times, first ');
    database.exec('alter table "elsewhere" rename to "measureTaken"');
    database.close();
  });
});

describe('the first page', () => {
  it('says that reminders stand still while every page answers, and no longer once they go on', async () => {
    const told = async () => (await ada.get('/')).text();
    expect(await told()).not.toContain('role="alert"');
    // A step of the schema that was changed after it existed.
    const database = new Sqlite(join(clinic.folder, 'clinic.db'));
    database.exec('alter table "reminderWatch" rename to "elsewhere"');
    // The clock that takes its place begins at nought, however long this process has been running.
    const ranMs = performance.now();
    vi.useFakeTimers({ toFake: ['performance'] });
    // A pass that was under way may still come to its end.
    const logged = () => clinic.logged.join();
    await vi.waitFor(() => expect(logged()).toContain('reminders not planned'), { timeout: 30_000 });
    vi.advanceTimersByTime(ranMs + 60_000);
    await vi.waitFor(
      async () => {
        const page = await told();
        expect(page).toContain('New reminders are not being planned.');
        expect(page, 'these go on').not.toContain('Warning signs are not being sent');
      },
      { timeout: 20_000, interval: 100 },
    );
    database.exec('alter table "elsewhere" rename to "reminderWatch"');
    database.exec(`insert into kysely_migration values ('9999-from-later', '2030-01-01')`);
    const soon = { timeout: 20_000, interval: 100 };
    await vi.waitFor(async () => {
      const page = await told();
      expect(page).toContain('A newer version of Stillcount works on the same records');
      expect(page, 'the newer one plans them').not.toContain('New reminders are not being planned.');
    }, soon);
    const ready = await fetch(`${clinic.service.address}/readyz`);
    expect(ready.status).toBe(503);
    expect(await ready.json()).toMatchObject({
      standsStill: ['a newer version works on this database; stop this one or upgrade it'],
    });
    expect(logged()).toMatch(/newer-version[^}]*9999-from-later/);
    database.exec(`delete from kysely_migration where name = '9999-from-later'`);
    database.close();
    await vi.waitFor(async () => expect(await told()).not.toContain('role="alert"'), soon);
  }, 90_000);
});
