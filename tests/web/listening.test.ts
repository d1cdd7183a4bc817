import { randomUUID } from 'node:crypto';
import { get as httpGet } from 'node:http';
import { parseBuffer } from 'music-metadata';
import RssParser from 'rss-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan, PlannedSession } from '../../src/listening/plan.js';
import type { ReportAnswer } from '../../src/listening/report.js';
import {
  addPerson,
  giveLink,
  openClinicWithPerson,
  screen,
  signShortProgram,
  type TestClinic,
  Visitor,
} from './clinic.js';

let clinic: TestClinic;
let ada: Visitor;
let rosaPath: string;
let rosaLink: string;
let programPath: string;

beforeAll(async () => {
  ({ clinic, ada, patientPath: rosaPath } = await openClinicWithPerson());
  programPath = await signShortProgram(ada, rosaPath);
  rosaLink = (await giveLink(ada, rosaPath)).path;
}, 60_000);
afterAll(() => clinic.remove());

const dayMs = 24 * 60 * 60_000;
const listener = () => new Visitor(() => clinic.service.address);
const planOf = async (path: string): Promise<Plan> => JSON.parse(await textAt(`${path}plan.json`));
const textAt = async (path: string) => (await listener().get(path)).text();
const idOf = (path: string) => path.split('/')[2] ?? '';

async function firstSession(path: string): Promise<{ plan: Plan; session: PlannedSession }> {
  const plan = await planOf(path);
  const session = plan.people[0]?.sessions[0];
  if (session === undefined) throw new Error('nothing is planned');
  return { plan, session };
}

const placeOf = (
  { prescriptionId, versionNumber, sessionNumber, slot }: PlannedSession,
  patientId: string,
) => ({
  patientId,
  prescriptionId,
  versionNumber,
  sessionNumber,
  slot,
});

/** Asked plainly: `fetch` adds that it wants nothing kept whenever a condition is given. */
function statusOf(path: string, headers: Record<string, string>): Promise<number | undefined> {
  return new Promise((resolve, reject) => {
    const request = httpGet(new URL(path, clinic.service.address), { headers }, (response) => {
      response.resume();
      resolve(response.statusCode);
    });
    request.on('error', reject);
  });
}

function report(path: string, items: object[], sentAtMs = Date.now()): Promise<Response> {
  return fetch(new URL(`${path}report`, clinic.service.address), {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'sec-fetch-site': 'same-origin' },
    body: JSON.stringify({ sentAtMs, items }),
  });
}

describe('a link', () => {
  it('opens one person’s page and names whom to call', async () => {
    await ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    const plan = await planOf(rosaLink);
    expect(plan.people.map(({ spokenName }) => spokenName)).toEqual(['Rosa']);
    expect(plan.clinic).toEqual({ name: 'Quillmere', phone: '0100 555 00', emergencyNumber: '112' });
    const page = await listener().get(rosaLink);
    expect(page.status).toBe(200);
    expect(page.headers.get('referrer-policy'), 'the secret in the address goes nowhere').toBe('no-referrer');
    expect(page.headers.get('cache-control')).toBe('no-store');
  });

  it('that is mistyped, guessed, expired or replaced is answered alike', async () => {
    const lost = (await giveLink(ada, rosaPath)).path;
    const replaced = (await giveLink(ada, rosaPath)).path;
    rosaLink = replaced;
    const guessed = `/l/${'A'.repeat(43)}/`;
    const mistyped = replaced.replace(/..\/$/, 'x/');
    const bodies = [];
    for (const path of [lost, guessed, mistyped, '/l/%2e%2e%2f/', '/l/%00/']) {
      const answer = await listener().get(path);
      expect([404, 400], path).toContain(answer.status);
      if (answer.status === 404) bodies.push(await answer.text());
      if (path === lost) {
        const plan = await listener().get(`${path}plan.json`);
        expect([plan.status, await plan.json()]).toEqual([404, { problem: 'dead-link' }]);
      }
    }
    expect(new Set(bodies.slice(0, 3)).size, 'word for word').toBe(1);
    clinic.clock.aheadMs = 181 * dayMs;
    expect((await listener().get(replaced)).status, 'half a year later').toBe(404);
    clinic.clock.aheadMs = 0;
    expect((await listener().get(replaced)).status).toBe(200);
  });

  it('ends with one click, and its files with it', async () => {
    const otherPath = await addPerson(ada, { name: 'Emil Tarn', zone: 'Europe/Vienna' });
    await screen(ada, otherPath, []);
    await signShortProgram(ada, otherPath);
    const { path } = await giveLink(ada, otherPath);
    const { session } = await firstSession(path);
    expect((await listener().get(`${path}${session.session}`)).status).toBe(200);
    const foreign = await listener().get(`${rosaLink}${session.session}`);
    expect([foreign.status, await foreign.json()], 'another person’s').toEqual([410, { problem: 'gone' }]);
    expect((await ada.submit(`${otherPath}/link/end`, {})).status).toBe(303);
    for (const name of ['', 'plan.json', 'worker.js', session.session, session.audio]) {
      expect((await listener().get(`${path}${name}`)).status, name).toBe(404);
    }
    expect((await report(path, [{}])).status).toBe(404);
  });

  it('is found by its short code, which is tried only so often', async () => {
    const { code } = await giveLink(ada, rosaPath);
    const typed = await listener().post('/l', { code: code.toLowerCase().replace(' ', '-') });
    expect(typed.status).toBe(303);
    rosaLink = typed.headers.get('location') ?? '';
    expect((await planOf(rosaLink)).people).toHaveLength(1);
    for (let tries = 0; tries < 15; tries += 1) {
      expect((await listener().post('/l', { code: 'AAAAA AAAAA' })).status).toBe(404);
    }
    expect((await listener().post('/l', { code })).status, 'too many').toBe(429);
  });

  it('with a PIN shows nothing before it is given, and bears few guesses', async () => {
    const { path } = await giveLink(ada, rosaPath, { pin: '4711' });
    const guest = listener();
    expect((await guest.get(path)).status).toBe(401);
    expect(await (await guest.get(`${path}plan.json`)).json()).toEqual({ problem: 'pin' });
    expect(await (await guest.get(path)).text()).not.toContain('Rosa');
    const { session } = await firstSession(rosaLink).catch(() => ({ session: null }));
    expect(session, 'the link before has ended').toBeNull();
    expect((await guest.post(path, { pin: '0000' })).status).toBe(401);
    expect((await guest.post(path, { pin: '4711' })).status).toBe(303);
    expect((await guest.get(path)).status).toBe(200);
    const other = await giveLink(ada, rosaPath, { pin: '4711' });
    expect((await guest.get(other.path)).status, 'the cookie is of the link before').toBe(401);
    for (let tries = 0; tries < 6; tries += 1) await guest.post(other.path, { pin: '1234' });
    expect((await guest.post(other.path, { pin: '4711' })).status, 'too many').toBe(429);
    rosaLink = (await giveLink(ada, rosaPath)).path;
  });
});

describe('what a phone tells', () => {
  it('is kept once, on the service’s clock, whatever the phone’s clock says', async () => {
    const { session, plan } = await firstSession(rosaLink);
    expect(plan.people[0]?.isFirst).toBe(true);
    const place = placeOf(session, idOf(rosaPath));
    const listeningId = randomUUID();
    const wrongByMs = 5 * 60 * 60_000;
    const phoneNow = Date.now() + wrongByMs;
    const step = (name: string, positionMs: number, agoMs: number) => ({
      kind: 'step',
      id: randomUUID(),
      listeningId,
      ...place,
      step: name,
      positionMs,
      atMs: phoneNow - agoMs,
    });
    const items = [
      step('started', 0, 200_000),
      step('reached', 60_000, 140_000),
      step('finished', 150_000, 50_000),
    ];
    const answer = await (await report(rosaLink, items, phoneNow)).json();
    expect(answer).toEqual({ keptIds: items.map(({ id }) => id), refused: [] });
    expect(await (await report(rosaLink, items, phoneNow)).json(), 'again').toEqual(answer);
    const checkIn = {
      kind: 'check-in',
      id: randomUUID(),
      listeningId,
      ...place,
      answers: { done: 'most', painBefore: 3, painAfter: 2, effort: null, note: 'Arms felt <light>' },
      atMs: phoneNow,
    };
    expect((await report(rosaLink, [checkIn], phoneNow)).status).toBe(200);
    const record = await (await ada.get(`${rosaPath}/heard`)).text();
    expect(record.match(/Short program: heard 2 min 30 s, to the end/g)).toHaveLength(1);
    expect(record).toContain('pain before 3, after 2; effort skipped; warning signs: not asked');
    expect(record).toContain('Arms felt &lt;light&gt;');
    const after = await planOf(rosaLink);
    expect(after.people[0]?.isFirst).toBe(false);
    expect(after.people[0]?.sessions.find(({ slot }) => slot === session.slot)?.state).toBe('done');
  });

  it('that is wrong is named and holds up nothing else', async () => {
    const { session } = await firstSession(rosaLink);
    const place = placeOf(session, idOf(rosaPath));
    const good = { kind: 'not-today', id: randomUUID(), ...place, reason: 'unwell', atMs: Date.now() };
    const answer = await report(rosaLink, [
      { ...good, id: randomUUID(), reason: 'lazy' },
      good,
      { ...good, id: randomUUID(), prescriptionId: randomUUID() },
      { ...good, id: randomUUID(), patientId: randomUUID() },
    ]);
    const { keptIds, refused }: ReportAnswer = JSON.parse(await answer.text());
    expect(keptIds).toEqual([good.id]);
    expect(
      refused.map(({ index }) => index),
      'not the one of somebody else',
    ).toEqual([0, 2]);
    expect((await report(rosaLink, [])).status).toBe(400);
    expect(
      (await fetch(new URL(`${rosaLink}report`, clinic.service.address), { method: 'POST', body: '{' }))
        .status,
    ).toBeGreaterThanOrEqual(400);
  });

  it('as a warning sign stops everything until a clinician has answered', async () => {
    const { session } = await firstSession(rosaLink);
    const place = placeOf(session, idOf(rosaPath));
    const warning = {
      kind: 'warning',
      id: randomUUID(),
      listeningId: null,
      ...place,
      signs: ['new-back-pain'],
      positionMs: 30_000,
      atMs: Date.now(),
    };
    expect((await report(rosaLink, [warning, warning])).status).toBe(200);
    const held = await planOf(rosaLink);
    expect(held.people[0]?.isHeld).toBe(true);
    expect((await listener().get(`${rosaLink}${session.audio}`)).status).toBe(410);
    expect(await (await ada.get('/')).text()).toContain(
      'Reported a warning sign: <strong>A new, sharp pain in my back</strong>',
    );
    const record = await (await ada.get(rosaPath)).text();
    expect(record.match(/Reported: a warning sign/g), 'once, though it was sent twice').toHaveLength(1);
    const seenUpToMs = String(Date.now());
    const answered = (fields: Record<string, string>) =>
      ada.submit(`${rosaPath}/warnings`, { seenUpToMs, outcome: 'go-on', ...fields });
    expect((await answered({ note: '' })).status, 'in words').toBe(400);
    const note = 'Called: muscle ache from gardening, no fracture signs; goes on';
    expect((await answered({ note })).status).toBe(303);
    expect((await answered({ note })).status, 'twice').toBe(409);
    expect((await planOf(rosaLink)).people[0]?.isHeld).toBe(false);
    expect(await (await ada.get(`${rosaPath}/heard`)).text()).toContain(note);
    expect(await (await ada.get('/')).text()).not.toContain('Reported a warning sign');
  });

  it('as a sign ticked in the questions holds everything back too, and may keep the program paused', async () => {
    const { session } = await firstSession(rosaLink);
    const checkIn = (signs: string[] | null) => ({
      kind: 'check-in',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(rosaPath)),
      answers: { done: 'all', signs },
      atMs: Date.now(),
    });
    await report(rosaLink, [checkIn([]), checkIn(null)]);
    expect((await planOf(rosaLink)).people[0]?.isHeld, 'nothing was ticked').toBe(false);
    // Signs that a phone with a newer list may know count as an emergency.
    await report(rosaLink, [checkIn(['chest-pain']), checkIn(['not-on-this-list'])]);
    expect((await planOf(rosaLink)).people[0]?.isHeld).toBe(true);
    const page = await (await ada.get(rosaPath)).text();
    expect(page).toContain('Pain or pressure in my chest');
    expect(page).toContain('not-on-this-list');
    const seenUpToMs = /name="seenUpToMs" value="(\d+)"/.exec(page)?.[1] ?? '';
    const note = 'Sent to hospital';
    expect((await ada.submit(`${rosaPath}/warnings`, { seenUpToMs, note, outcome: 'pause' })).status).toBe(
      303,
    );
    const after = await planOf(rosaLink);
    expect([after.people[0]?.isHeld, after.people[0]?.sessions]).toEqual([false, []]);
    expect(await (await ada.get(programPath)).text()).toContain('Paused');
    await ada.submit(`${programPath}/state`, { state: 'active', reason: 'Cleared by the hospital' });
    expect((await planOf(rosaLink)).people[0]?.sessions.length).toBeGreaterThan(0);
  });

  it('with a day that is none, or is far away, is refused and does no harm', async () => {
    const { session } = await firstSession(rosaLink);
    const item = (slot: string) => ({
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(rosaPath)),
      slot,
      step: 'finished',
      positionMs: 1,
      atMs: Date.now(),
    });
    const slots = ['2026-99-99#1', '2026-02-30#1', '1999-01-01#1', '2999-01-01#1', '2026-11-25#9'];
    const answer = await report(rosaLink, slots.map(item));
    const { keptIds, refused }: ReportAnswer = JSON.parse(await answer.text());
    expect(keptIds).toEqual([]);
    expect(refused.map(({ index }) => index)).toEqual([0, 1, 2, 3, 4]);
    expect((await ada.get(`${rosaPath}/heard`)).status).toBe(200);
    expect((await listener().get(`${rosaLink}plan.json`)).status).toBe(200);
  });

  it('does not move a program on faster than days go by, whatever it claims', async () => {
    const { session } = await firstSession(rosaLink);
    const today = Date.now();
    const claims = Array.from({ length: 60 }, (_, index) => ({
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(rosaPath)),
      slot: `${new Date(today - Math.floor(index / 3) * dayMs).toISOString().slice(0, 10)}#${(index % 3) + 1}`,
      step: 'finished',
      positionMs: 1,
      atMs: today,
    }));
    expect((await report(rosaLink, claims)).status).toBe(200);
    const numbers = (await planOf(rosaLink)).people[0]?.sessions
      .filter(({ state }) => state === 'later' || state === 'due')
      .map(({ sessionNumber }) => sessionNumber);
    expect(Math.max(...(numbers ?? [])), 'three a day at most, signed today').toBeLessThanOrEqual(4 + 3);
  });

  it('in a flood is put off, but for a warning sign', async () => {
    const emilPath = await addPerson(ada, { name: 'Emil Tarn', zone: 'Europe/Vienna' });
    await screen(ada, emilPath, []);
    await signShortProgram(ada, emilPath);
    const { path } = await giveLink(ada, emilPath);
    const { session } = await firstSession(path);
    const place = placeOf(session, idOf(emilPath));
    const flood = () =>
      Array.from({ length: 100 }, () => ({
        kind: 'not-today',
        id: randomUUID(),
        ...place,
        reason: 'away',
        atMs: Date.now(),
      }));
    const statuses: number[] = [];
    for (let round = 0; round < 21; round += 1) statuses.push((await report(path, flood())).status);
    expect(statuses.slice(0, 20)).toEqual(Array.from({ length: 20 }, () => 200));
    expect(statuses[20]).toBe(429);
    const warning = { kind: 'warning', id: randomUUID(), listeningId: null, ...place, signs: ['faint'] };
    const told = await report(path, [{ ...warning, positionMs: null, atMs: Date.now() }]);
    expect([told.status, (await planOf(path)).people[0]?.isHeld]).toEqual([200, true]);
    expect((await ada.get(`${emilPath}/heard`)).status).toBe(200);
  });

  it('about a version that was replaced, or a program that was paused, still lands on it', async () => {
    const { session } = await firstSession(rosaLink);
    await ada.submit(`${programPath}/state`, { state: 'paused', reason: 'On holiday' });
    expect((await planOf(rosaLink)).people[0]?.sessions).toEqual([]);
    expect((await listener().get(`${rosaLink}${session.audio}`)).status).toBe(410);
    const late = {
      kind: 'step',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(rosaPath)),
      step: 'started',
      positionMs: 0,
      atMs: Date.now() - 60_000,
    };
    expect(await (await report(rosaLink, [late])).json()).toEqual({ keptIds: [late.id], refused: [] });
    await ada.submit(`${programPath}/state`, { state: 'active', reason: 'Back home' });
  });
});

describe('a caregiver', () => {
  it('sees whom they care for with one link, and what was done only with consent', async () => {
    await ada.submit(`${rosaPath}/caregivers`, { name: 'Jule Lind', relation: 'daughter' });
    const page = await (await ada.get(rosaPath)).text();
    const caregiverId = /\/caregivers\/([\w-]{36})\/link/.exec(page)?.[1] ?? '';
    const { path } = await giveLink(ada, `${rosaPath}/caregivers/${caregiverId}`);
    const before = await planOf(path);
    expect(before.isCaregiver).toBe(true);
    expect(before.people[0]?.showsDone).toBe(false);
    expect(before.people[0]?.sessions.map(({ state }) => state)).not.toContain('done');
    const consent = { kind: 'caregiver-sees-done', caregiverId, isGiven: 'yes', onDate: '2026-11-20' };
    await ada.submit(`${rosaPath}/consents`, consent);
    expect((await planOf(path)).people[0]?.showsDone).toBe(true);
    const annaPath = await addPerson(ada, { name: 'Anna Lind', zone: 'Europe/Vienna' });
    const form = await (await ada.get(annaPath)).text();
    const personId = /<option value="([\w-]{36})">Jule Lind \(1\)/.exec(form)?.[1] ?? '';
    await ada.submit(`${annaPath}/caregivers`, { name: 'Jule Lind', personId });
    expect((await planOf(path)).people.map(({ spokenName }) => spokenName)).toEqual(['Anna', 'Rosa']);
    await ada.submit(`${rosaPath}/caregivers/${caregiverId}/end`, {});
    expect((await planOf(path)).people.map(({ spokenName }) => spokenName)).toEqual(['Anna']);
  });
});

describe('sound', () => {
  it('is given in any byte range, with a strong name of its bytes (RFC 9110, sections 13 and 14)', async () => {
    const { session } = await firstSession(rosaLink);
    const get = (headers: Record<string, string>) => listener().get(`${rosaLink}${session.audio}`, headers);
    const whole = await get({});
    const bytes = new Uint8Array(await whole.arrayBuffer());
    expect(whole.headers.get('content-type')).toBe('audio/mpeg');
    expect(whole.headers.get('accept-ranges')).toBe('bytes');
    const etag = whole.headers.get('etag') ?? '';
    expect(etag).toMatch(/^"[0-9a-f]{32}"$/);
    const part = await get({ range: 'bytes=1000-1999' });
    expect(part.status).toBe(206);
    expect(part.headers.get('content-range')).toBe(`bytes 1000-1999/${bytes.length}`);
    expect(new Uint8Array(await part.arrayBuffer())).toEqual(bytes.slice(1000, 2000));
    const last = await get({ range: 'bytes=-500' });
    expect(new Uint8Array(await last.arrayBuffer())).toEqual(bytes.slice(-500));
    expect((await get({ range: `bytes=${bytes.length}-` })).status).toBe(416);
    expect((await get({ range: 'bytes=0-9', 'if-range': etag })).status).toBe(206);
    expect((await get({ range: 'bytes=0-9', 'if-range': '"another"' })).status, 'changed meanwhile').toBe(
      200,
    );
    expect(await statusOf(`${rosaLink}${session.audio}`, { 'if-none-match': etag })).toBe(304);
  });

  it('says each sentence around a session, for this listener', async () => {
    const prompt = await listener().get(`${rosaLink}prompts/${idOf(rosaPath)}/welcome.mp3`);
    expect([prompt.status, prompt.headers.get('content-type')]).toEqual([200, 'audio/mpeg']);
    expect((await listener().get(`${rosaLink}prompts/${idOf(rosaPath)}/other.mp3`)).status).toBe(410);
    const { session } = await firstSession(rosaLink);
    const far = session.audio.replace(/\/\d+\/session/, '/40/session');
    expect((await listener().get(`${rosaLink}${far}`)).status, 'not made for asking').toBe(410);
    expect((await listener().get(`${rosaLink}prompts/${randomUUID()}/welcome.mp3`)).status).toBe(410);
  });
});

describe('a feed for other players', () => {
  const feedPath = async (path: string) => {
    const answer = await listener().post(`${path}feed`, {});
    const { address }: { address: string } = JSON.parse(await answer.text());
    return address;
  };

  it('is read by an independent parser, plays, and counts as delivered, not as done', async () => {
    const states = (await planOf(rosaLink)).people[0]?.sessions.map(({ state }) => state);
    const address = await feedPath(rosaLink);
    const feed = await new RssParser().parseURL(new URL(address, clinic.service.address).href);
    expect(feed.title).toBe('Sessions for Rosa');
    const [item] = feed.items;
    expect(item?.title).toMatch(/^Short program, \d+ \w+ \d{4} at 09:00$/);
    expect(item?.enclosure?.type).toBe('audio/mpeg');
    const sound = await fetch(item?.enclosure?.url ?? '');
    const bytes = new Uint8Array(await sound.arrayBuffer());
    expect(String(bytes.length)).toBe(item?.enclosure?.length);
    const { format } = await parseBuffer(bytes, 'audio/mpeg');
    expect(format.duration).toBeGreaterThan(60);
    for (const name of ['chapters.json', 'session.vtt', 'session.txt']) {
      const file = await fetch((item?.enclosure?.url ?? '').replace('session.mp3', name));
      expect([name, file.status]).toEqual([name, 200]);
    }
    await fetch(item?.enclosure?.url ?? '', { headers: { range: 'bytes=100-' } });
    const record = await (await ada.get(`${rosaPath}/heard`)).text();
    expect(record.match(/<li>For \d+/g), 'one delivery, however often it was asked for').toHaveLength(1);
    const plan = await planOf(rosaLink);
    expect(
      plan.people[0]?.sessions.map(({ state }) => state),
      'nothing more is done',
    ).toEqual(states);
  });

  it('has one address at a time, which opens nothing else and ends with the link', async () => {
    const first = await feedPath(rosaLink);
    const second = await feedPath(rosaLink);
    expect((await listener().get(first)).status).toBe(404);
    expect((await listener().get(second)).status).toBe(200);
    const token = /\/feed\/([^.]+)/.exec(second)?.[1] ?? '';
    expect((await listener().get(`/l/${token}/`)).status, 'no page').toBe(404);
    expect((await listener().get(rosaLink.replace('/l/', '/feed/').replace(/\/$/, '.xml'))).status).toBe(404);
    rosaLink = (await giveLink(ada, rosaPath)).path;
    expect((await listener().get(second)).status, 'the link was replaced').toBe(404);
  });
});

it('logs nothing that opens anything', () => {
  const log = clinic.logged.join('\n');
  expect(log).toContain('"route":"/l/:token/report"');
  for (const secret of [rosaLink.split('/')[2] ?? '', 'Rosa', '4711', '0100 555'])
    expect(log).not.toContain(secret);
});
