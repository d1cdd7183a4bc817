import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { openClinicWithPerson, type TestClinic, type Visitor } from './clinic.js';

let clinic: TestClinic;
let ada: Visitor;
beforeAll(async () => {
  ({ clinic, ada } = await openClinicWithPerson());
});
afterEach(() => {
  vi.useRealTimers();
});
afterAll(() => clinic.remove());

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
    database.close();
    await vi.waitFor(async () => expect(await told()).not.toContain('role="alert"'), {
      timeout: 20_000,
      interval: 100,
    });
  }, 90_000);
});
