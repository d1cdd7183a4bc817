import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { hashToken } from '../../src/clinic/tokens.js';
import type { Plan } from '../../src/listening/plan.js';
import { Sqlite } from '../sqlite.js';
import {
  giveLink,
  openClinicWithPerson,
  person,
  signShortProgram,
  type TestClinic,
  type Visitor,
} from '../support/clinic.js';
import { idOf, placeOf } from '../support/listener.js';

let clinic: TestClinic;
let ada: Visitor;
let patientPath: string;
let link: string;
const apiKey = 'k'.repeat(43);
beforeAll(async () => {
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
  await ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
  await signShortProgram(ada, patientPath);
  ({ path: link } = await giveLink(ada, patientPath));
});
afterEach(() => {
  vi.useRealTimers();
});
afterAll(() => clinic.remove());

describe('a page that fails', () => {
  it('names a reference that the log has too, and stands on the first page until it was seen', async () => {
    const told = async () => (await ada.get('/')).text();
    const failed = /Errors[\s\S]*A page or request failed/;
    const database = new Sqlite(join(clinic.folder, 'clinic.db'));
    database.exec('alter table "measureTaken" rename to "elsewhere"');
    const reference = async () => {
      const page = await ada.get(`${patientPath}/measures`);
      expect(page.status).toBe(500);
      const [, id = ''] = /Reference: <code>([\w-]{14})<\/code>/.exec(await page.text()) ?? [];
      expect(page.headers.get('x-request-id')).toBe(id);
      return id;
    };
    const first = await reference();
    const lines = clinic.logged
      .filter((line) => line.includes(first))
      .map((line) => JSON.parse(line) as object);
    const cause = 'SqliteError SQLITE_ERROR';
    expect(lines).toEqual([
      expect.objectContaining({
        ...{ level: 'error', time: expect.stringMatching(/^\d{4}-\d\d-\d\dT[\d:.]+Z$/) },
        ...{ event: 'incident', code: 'request-failed', cause, request: first },
        error: {
          ...{ name: 'SqliteError', code: 'SQLITE_ERROR', causes: [] },
          stack: expect.arrayContaining([expect.stringMatching(/^at /)]),
        },
      }),
      expect.objectContaining({ event: 'request-answered', status: 500, request: first }),
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

describe('a request that fails unforeseen', () => {
  it('has one reference for the listener, for another program, on the first page and in the log', async () => {
    const database = new Sqlite(join(clinic.folder, 'clinic.db'));
    const key = 'u'.repeat(43);
    database.exec(`insert into "accessKey" select 'unforeseen', '${hashToken(key)}', "id", 'Key', 0, 0, null, null
      from "clinician" limit 1`);
    const asked = [
      {
        path: link,
        headers: { accept: 'text/html' },
        said: /If you call, give this reference: <strong>([^<]+)</,
      },
      {
        path: `/api/v1/people/${idOf(patientPath)}/record`,
        headers: {},
        said: /^\{"code":"failed".*"requestId":"([^"]+)"/,
      },
    ];
    for (const { path, headers, said } of asked) {
      database.exec('alter table "prescription" rename to "elsewhere"');
      const answer = await fetch(new URL(path, clinic.service.address), {
        headers: { ...headers, authorization: `Bearer ${key}`, 'x-request-id': 'of-somebody-else' },
      });
      database.exec('alter table "elsewhere" rename to "prescription"');
      const text = await answer.text();
      const [, reference = 'none'] = said.exec(text) ?? [];
      expect([answer.status, answer.headers.get('x-request-id')], path).toEqual([500, reference]);
      const incidents = clinic.logged.filter(
        (line) => line.includes(reference) && line.includes('"incident"'),
      );
      expect(incidents, path).toEqual([
        expect.stringMatching(/"error":\{"name":"SqliteError".*"stack":\["at /),
      ]);
      expect(await (await ada.get('/')).text(), path).toContain(`reference <code>${reference}</code>`);
    }
    database.close();
  });
});

const warning = {
  ...{ kind: 'warning', id: randomUUID(), listeningId: null, positionMs: null, signs: ['faint'] },
  atMs: Date.now(),
};

/** A phone tells of a warning sign, which it keeps until it is answered that the service has it. */
async function report(): Promise<Response> {
  const plan: Plan = JSON.parse(await (await ada.get(`${link}plan.json`)).text());
  const session = plan.people[0]?.sessions[0] ?? expect.unreachable('nothing is planned');
  const items = [{ ...warning, ...placeOf(session, idOf(patientPath)) }];
  return fetch(new URL(`${link}report`, clinic.service.address), {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ sentAtMs: Date.now(), items }),
  });
}

/** What an older version would write by rules that no longer hold is refused; what only reads goes on. */
async function refusesToKeep(): Promise<void> {
  // Since everybody was last seen, which is written down too, minutes have gone by.
  clinic.clock.aheadMs += 10 * 60_000;
  const told = await report();
  expect(told.status, 'neither taken nor, as with 400, thrown away by the phone').toBe(503);
  const form = { formId: randomUUID(), what: 'warning', sign: 'faint', patientId: idOf(patientPath) };
  const plain = await ada.post(`${link}tell`, form);
  const page = await plain.text();
  expect([plain.status, page.includes('Your clinic does not have your message')]).toEqual([503, true]);
  expect(page).toContain('tel:112');
  expect((await ada.get(link)).status, 'sessions are there').toBe(200);
  expect((await ada.get(`${link}plan.json`)).status).toBe(200);
  const headers = { authorization: `Bearer ${apiKey}` };
  expect((await fetch(`${clinic.service.address}/api/v1/exercises`, { headers })).status, 'a key').toBe(200);
  const before = clinic.logged.length;
  const answer = await ada.submit('/patients/new', person);
  expect(answer.status).toBe(503);
  expect(await answer.text()).toContain(
    'a newer version of Stillcount works on the same records, so nothing can be saved here',
  );
  expect(clinic.logged.slice(before).join()).not.toContain('work-failed');
  expect((await ada.get(patientPath)).status, 'each reading of a record is noted').toBe(503);
  expect((await ada.get('/')).status).toBe(200);
}

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
        const [, reference] =
          /reminders not planned: [^<]*<[^>]*>[^<]*reference <code>([^<]+)</.exec(page) ?? [];
        const line = clinic.logged.find((each) => each.includes(`"request":"${reference}"`));
        expect(line, 'found in the log').toMatch(/"event":"incident".*"code":"work-failed".*"stack":\["at /);
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
    database.exec(`insert into "accessKey" select 'k', '${hashToken(apiKey)}', "id", 'Key', 0, 0, null, null
      from "clinician" limit 1`);
    // That its program can be played after all would be noted when the plan is asked for.
    database.exec(`insert into "notPlayable" select "id", "patientId", 0, null from "prescription" limit 1`);
    await refusesToKeep();
    database.exec('delete from "notPlayable"');
    database.exec(`delete from kysely_migration where name = '9999-from-later'`);
    database.close();
    const kept = await report();
    expect([kept.status, await kept.json()]).toEqual([200, { keptIds: [warning.id], refused: [] }]);
    await vi.waitFor(async () => expect(await told()).not.toContain('role="alert"'), soon);
  }, 90_000);
});
