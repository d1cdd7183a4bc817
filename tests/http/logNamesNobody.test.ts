import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { Plan } from '../../src/listening/plan.js';
import { events } from '../../src/log/events.js';
import { type Log, openLog } from '../../src/log/log.js';
import { withRequestId } from '../../src/log/requestId.js';
import { openMailServerForTest, type TestMailServer } from '../channels/mailServer.js';
import { Sqlite } from '../sqlite.js';
import {
  addPerson,
  giveLink,
  openTestClinic,
  screen,
  signShortProgram,
  type TestClinic,
  Visitor,
} from '../support/clinic.js';
import { idOf, placeOf } from '../support/listener.js';
import { agree } from '../support/reminded.js';

/** In every name, address, number, word and password of this run, and nowhere else on this machine. */
const marks = /zyxwq|717171/i;
const invented = {
  clinicName: 'Zyxwquill',
  name: 'Ada Zyxwqandt',
  email: 'owner@zyxwq.example',
  password: 'zyxwq four quiet words',
  zone: 'Europe/Vienna',
};
const patient = {
  name: 'Rosa Zyxwqind',
  birthYear: '1944',
  zone: 'Europe/Vienna',
  email: 'rosa@zyxwq.example',
  phone: '+43 717171',
};

let clinic: TestClinic;
let mail: TestMailServer;
let ada: Visitor;
const secrets: string[] = [];
beforeAll(async () => {
  mail = await openMailServerForTest();
  clinic = await openTestClinic({
    STILLCOUNT_MAIL_URL: `smtp://127.0.0.1:${mail.port}`,
    STILLCOUNT_MAIL_FROM: 'clinic@zyxwq.example',
    STILLCOUNT_ADDRESS: 'https://clinic.zyxwq.example',
  });
  ada = new Visitor(() => clinic.service.address);
});
afterAll(async () => {
  await clinic.remove();
  await mail.stop();
});

const paths = (page: string) =>
  [...page.replaceAll('&#x2F;', '/').matchAll(/href="(\/[^"#]*)/g)].map(([, path = '']) => path);
/** Pages of one kind hold the same things about others. */
const kindOf = (path: string) =>
  path.replace(/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/g, ':id').replace(/[?].*/, '');

/** Opens every kind of page that can be reached from the first one. */
async function visitEverything(): Promise<Map<string, string>> {
  const visited = new Map<string, string>();
  const waiting = ['/'];
  for (let path = waiting.shift(); path !== undefined; path = waiting.shift()) {
    if (visited.has(kindOf(path)) || path.startsWith('/assets/') || path.startsWith('/help/')) continue;
    const answer = await ada.get(path);
    const isPage = answer.headers.get('content-type')?.startsWith('text/html') ?? false;
    const page = await answer.text();
    visited.set(kindOf(path), isPage ? page : '');
    if (isPage) waiting.push(...paths(page));
  }
  return visited;
}

/** Sends every form of a page with what was invented in each of its fields; what takes something away is left out. */
async function sendForms(pages: Iterable<string>): Promise<Set<string>> {
  const sent = new Set<string>();
  const formToken = await ada.formToken();
  for (const page of pages) {
    const forms = page
      .replaceAll('&#x2F;', '/')
      .matchAll(/<form[^>]*method="post"[^>]*action="([^"]+)"[^>]*>(.*?)<\/form>/gs);
    for (const [, action = '', fields = ''] of forms) {
      if (/sign-out|\/end|erase|seen|account\//.test(action) || sent.has(kindOf(action))) continue;
      sent.add(kindOf(action));
      const names = [...fields.matchAll(/<(?:input|textarea|select)[^>]* name="([^"]+)"/g)].map(
        ([, name]) => name,
      );
      const typed = Object.fromEntries(names.map((name) => [name ?? '', 'zyxwq@zyxwq.example']));
      await ada.post(action, { ...typed, formToken });
    }
  }
  return sent;
}

/** Whatever fails for clinicians, listeners and other programs, with what is invented in its address and body. */
async function provokeErrors(patientPath: string, link: string, token: string): Promise<number[]> {
  const database = new Sqlite(join(clinic.folder, 'clinic.db'));
  const headers = { authorization: `Bearer ${token}`, 'content-type': 'application/json' };
  const call = (path: string, body?: string) =>
    fetch(new URL(path, clinic.service.address), {
      headers: { ...headers, accept: 'text/html', 'x-request-id': 'zyxwq', 'user-agent': 'Zyxwq/1.0' },
      ...(body === undefined ? {} : { method: 'POST', body }),
    });
  const asked = [
    () => call('/Rosa-Zyxwqind?email=rosa@zyxwq.example'),
    () => call('/patients/zyxwq?name=Zyxwqind'),
    () => call('/API/v1/people/zyxwq?name=Zyxwqind'),
    () => call('/api/v1/people', '{"name": "Rosa Zyxwqind'),
    () => call('/api/v1/people', '{"name": "Rosa Zyxwqind", "zyxwq": 1}'),
    () => call(`${link}report`, '{"note": "zyxwq'),
    () => call(`/l/${'zyxwq'.repeat(9).slice(0, 43)}/`),
    () =>
      new Visitor(() => clinic.service.address).post('/sign-in', {
        email: 'nobody@zyxwq.example',
        password: 'zyxwq',
      }),
  ];
  const statuses = [];
  for (const ask of asked) statuses.push((await ask()).status);
  database.exec('alter table "prescription" rename to "elsewhere"');
  for (const path of [link, `/api/v1/people/${idOf(patientPath)}/record`])
    statuses.push((await call(path)).status);
  statuses.push((await ada.get(patientPath)).status);
  database.exec('alter table "elsewhere" rename to "prescription"');
  database.close();
  await clinic.restart();
  return statuses;
}

it('names nobody in a whole run: every page, form and message, and whatever fails', async () => {
  await ada.post(new URL(clinic.service.firstLink ?? '').pathname, invented);
  const patientPath = await addPerson(ada, patient);
  await screen(ada, patientPath, [], 'zyxwq since spring');
  const program = { 'program.title': 'Zyxwq program' };
  await signShortProgram(ada, patientPath, program);
  await ada.submit(`${patientPath}/caregivers`, { name: 'Tom Zyxwqind', email: 'tom@zyxwq.example' });
  await agree(ada, patientPath, 'reminders');
  const { path: link, code } = await giveLink(ada, patientPath);
  const keyPage = await ada.submit('/account/keys', {
    ...{ name: 'Zyxwq records', password: invented.password, mayWrite: 'yes' },
  });
  const key = /<strong class="long">([\w-]{43})<\/strong>/.exec(await keyPage.text())?.[1] ?? 'none';
  secrets.push(ada.cookie.split('=')[1] ?? 'none', code, key, link.split('/')[2] ?? 'none');

  const visited = await visitEverything();
  expect([...visited.keys()]).toEqual(
    expect.arrayContaining(['/patients/:id', '/patients/:id/papers', '/account', '/colleagues']),
  );
  const sent = await sendForms(visited.values());
  expect(sent.size, [...sent].join(' ')).toBeGreaterThan(15);

  const listener = new Visitor(() => clinic.service.address);
  const plan: Plan = JSON.parse(await (await listener.get(`${link}plan.json`)).text());
  const session = plan.people[0]?.sessions[0] ?? expect.unreachable('nothing is planned');
  const what = { kind: 'warning', listeningId: null, positionMs: null, signs: ['faint'], atMs: Date.now() };
  const item = { ...what, id: crypto.randomUUID(), ...placeOf(session, idOf(patientPath)) };
  const report = { sentAtMs: Date.now(), items: [item] };
  const headers = { 'content-type': 'application/json' };
  const told = await fetch(new URL(`${link}report`, clinic.service.address), {
    ...{ method: 'POST', headers, body: JSON.stringify(report) },
  });
  expect(await told.json()).toMatchObject({ refused: [] });
  // Its words hold the address that it refuses.
  mail.behaviour = { step: 'RCPT', code: 550, words: '5.1.1 no owner@zyxwq.example here' };
  await expect.poll(() => mail.tries, { timeout: 30_000 }).toBeGreaterThan(0);

  const statuses = await provokeErrors(patientPath, link, key);
  expect(statuses.slice(-3), 'of a listener, another program, a clinician').toEqual([500, 500, 500]);
  expect(statuses).toEqual(expect.arrayContaining([400, 401, 404]));
  const log = clinic.logged.join('\n');
  expect(log.match(/"code":"request-failed"/g)).toHaveLength(3);
  expect(log).toContain('"route":"/patients/:id/papers"');
  expect(clinic.logged.filter((line) => marks.test(line))).toEqual([]);
  for (const secret of secrets) expect(log.includes(secret), 'a secret').toBe(false);
  for (const line of clinic.logged) {
    const { level, time, event, ...fields } = JSON.parse(line) as Record<string, unknown>;
    const known = Object.entries(events).find(([name]) => name === event)?.[1];
    expect(known?.level, line).toBe(level);
    expect(time, line).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[.]\d{3}Z$/);
    expect(known?.fields.strict().safeParse(fields).error, line).toBeUndefined();
  }
}, 120_000);

it('leaves out what no field is for, and withholds what is not of its shape', () => {
  const lines: string[] = [];
  const log: Log = openLog({ write: (line) => void lines.push(line) });
  const wrong = {
    event: 'incident',
    code: 'Rosa Lind',
    cause: 'no rosa@example.org',
    time: 'now',
    name: 'Rosa',
  } as const;
  withRequestId('K7M4-P2XR-TQ9D', () => log(wrong));
  expect(lines.map((line) => JSON.parse(line))).toEqual([
    {
      ...{ level: 'error', time: expect.stringMatching(/^\d{4}-\d\d-\d\dT/), event: 'incident' },
      ...{ request: 'K7M4-P2XR-TQ9D', code: '(withheld)', cause: 'no …' },
    },
  ]);
});
