import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addPerson, giveLink, screen, signShortProgram } from '../../support/clinic.js';
import { dayMs, idOf, ListeningClinic, placeOf } from '../../support/listener.js';

let at: ListeningClinic;

beforeAll(async () => {
  at = await ListeningClinic.open();
});
afterAll(() => at.clinic.remove());

describe('a link', () => {
  it('opens one person’s page and names whom to call', async () => {
    await at.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    const plan = await at.planOf(at.rosaLink);
    expect(plan.people.map(({ spokenName }) => spokenName)).toEqual(['Rosa']);
    expect(plan.clinic).toEqual({ name: 'Quillmere', phone: '0100 555 00', emergencyNumber: '112' });
    const page = await at.guest().get(at.rosaLink);
    expect(page.status).toBe(200);
    expect(page.headers.get('referrer-policy'), 'the secret in the address goes nowhere').toBe('no-referrer');
    expect(page.headers.get('cache-control')).toBe('no-store');
  });

  it('that is mistyped, guessed, expired or replaced is answered alike', async () => {
    const lost = (await giveLink(at.ada, at.rosaPath)).path;
    const replaced = (await giveLink(at.ada, at.rosaPath)).path;
    at.rosaLink = replaced;
    const guessed = `/l/${'A'.repeat(43)}/`;
    const mistyped = replaced.replace(/..\/$/, 'x/');
    const bodies = [];
    for (const path of [lost, guessed, mistyped, '/l/%2e%2e%2f/', '/l/%00/']) {
      const answer = await at.guest().get(path);
      expect([404, 400], path).toContain(answer.status);
      if (answer.status === 404) bodies.push(await answer.text());
      if (path === lost) {
        const plan = await at.guest().get(`${path}plan.json`);
        expect([plan.status, await plan.json()]).toEqual([404, { problem: 'dead-link' }]);
      }
    }
    expect(new Set(bodies.slice(0, 3)).size, 'word for word').toBe(1);
    at.clinic.clock.aheadMs = 181 * dayMs;
    expect((await at.guest().get(replaced)).status, 'half a year later').toBe(404);
    at.clinic.clock.aheadMs = 0;
    expect((await at.guest().get(replaced)).status).toBe(200);
  });

  it('ends with one click, and its files with it', async () => {
    const otherPath = await addPerson(at.ada, { name: 'Emil Tarn', zone: 'Europe/Vienna' });
    await screen(at.ada, otherPath, []);
    await signShortProgram(at.ada, otherPath);
    const { path } = await giveLink(at.ada, otherPath);
    const { session } = await at.firstSession(path);
    expect((await at.guest().get(`${path}worker.js`)).status).toBe(200);
    const foreign = await at.guest().get(`${at.rosaLink}${session.session}`);
    expect([foreign.status, await foreign.json()], 'another person’s').toEqual([410, { problem: 'gone' }]);
    expect((await at.ada.submit(`${otherPath}/link/end`, {})).status).toBe(303);
    for (const name of ['', 'plan.json', 'worker.js', session.session, session.audio]) {
      expect((await at.guest().get(`${path}${name}`)).status, name).toBe(404);
    }
    expect((await at.report(path, [{}])).status).toBe(404);
  });

  it('is found by its short code, which is tried only so often', async () => {
    const { code } = await giveLink(at.ada, at.rosaPath);
    const typed = await at.guest().post('/l', { code: code.toLowerCase().replace(' ', '-') });
    expect(typed.status).toBe(303);
    at.rosaLink = typed.headers.get('location') ?? '';
    expect((await at.planOf(at.rosaLink)).people).toHaveLength(1);
    for (let tries = 0; tries < 15; tries += 1) {
      expect((await at.guest().post('/l', { code: 'AAAAA AAAAA' })).status).toBe(404);
    }
    expect((await at.guest().post('/l', { code })).status, 'too many').toBe(429);
  });

  it('with a PIN shows nothing before it is given, and bears few guesses', async () => {
    const { path } = await giveLink(at.ada, at.rosaPath, { pin: '4711' });
    const guest = at.guest();
    expect((await guest.get(path)).status).toBe(401);
    expect(await (await guest.get(`${path}plan.json`)).json()).toEqual({ problem: 'pin' });
    expect(await (await guest.get(path)).text()).not.toContain('Rosa');
    const { session } = await at.firstSession(at.rosaLink).catch(() => ({ session: null }));
    expect(session, 'the link before has ended').toBeNull();
    expect((await guest.post(path, { pin: '0000' })).status).toBe(401);
    expect((await guest.post(path, { pin: '4711' })).status).toBe(303);
    expect((await guest.get(path)).status).toBe(200);
    const other = await giveLink(at.ada, at.rosaPath, { pin: '4711' });
    expect((await guest.get(other.path)).status, 'the cookie is of the link before').toBe(401);
    for (let tries = 0; tries < 6; tries += 1) await guest.post(other.path, { pin: '1234' });
    expect((await guest.post(other.path, { pin: '4711' })).status, 'too many').toBe(429);
    at.rosaLink = (await giveLink(at.ada, at.rosaPath)).path;
  });

  it('whose PIN was wrong too often in a row works no more, also where the service was started anew', async () => {
    const { path } = await giveLink(at.ada, at.rosaPath, { pin: '4711' });
    const shut = 'The wrong number was typed too many times';
    for (let start = 0; start < 5; start += 1) {
      // What is counted in memory begins anew; what is counted for good does not.
      await at.clinic.restart();
      for (let tries = 0; tries < 6; tries += 1) {
        const answer = await (await at.guest().post(path, { pin: '0000' })).text();
        expect(answer).not.toContain(shut);
      }
    }
    await at.clinic.restart();
    const right = await at.guest().post(path, { pin: '4711' });
    expect([right.status, (await right.text()).includes(shut)]).toEqual([401, true]);
    expect(await at.page(at.rosaPath)).toContain('Wrong PINs in a row: 30.');
    at.rosaLink = (await giveLink(at.ada, at.rosaPath)).path;
    expect(await at.page(at.rosaPath), 'a new link begins anew').not.toContain('Wrong PINs');
  });
});

describe('a caregiver', () => {
  it('sees whom they care for with one link, and what was done only with consent', async () => {
    await at.ada.submit(`${at.rosaPath}/caregivers`, { name: 'Jule Lind', relation: 'daughter' });
    const page = await (await at.ada.get(at.rosaPath)).text();
    const caregiverId = /\/caregivers\/([\w-]{36})\/link/.exec(page)?.[1] ?? '';
    const { path } = await giveLink(at.ada, `${at.rosaPath}/caregivers/${caregiverId}`);
    const { session } = await at.firstSession(at.rosaLink);
    const heard = { kind: 'step', listeningId: randomUUID(), ...placeOf(session, idOf(at.rosaPath)) };
    const atMs = Date.now();
    const steps = [
      { ...heard, id: randomUUID(), step: 'started', positionMs: 0, atMs: atMs - 150_000 },
      { ...heard, id: randomUUID(), step: 'finished', positionMs: 150_000, atMs },
    ];
    expect((await at.report(at.rosaLink, steps)).status).toBe(200);
    const statesIn = async (link: string) =>
      (await at.planOf(link)).people[0]?.sessions.map(({ state }) => state);
    expect(await statesIn(at.rosaLink), 'she herself sees it').toContain('done');
    const before = await at.planOf(path);
    expect(before.isCaregiver).toBe(true);
    expect(before.people[0]).toMatchObject({ showsDone: false, saysWhyHeld: false, isFirst: true });
    expect(before.people[0]?.sessions.map(({ state }) => state)).not.toContain('done');
    const consent = { kind: 'caregiver-sees-done', caregiverId, isGiven: 'yes', onDate: '2026-11-20' };
    await at.ada.submit(`${at.rosaPath}/consents`, consent);
    expect((await at.planOf(path)).people[0]?.showsDone).toBe(true);
    expect(await statesIn(path)).toContain('done');
    const annaPath = await addPerson(at.ada, { name: 'Anna Lind', zone: 'Europe/Vienna' });
    const form = await (await at.ada.get(annaPath)).text();
    const personId = /<option value="([\w-]{36})">Jule Lind \(1\)/.exec(form)?.[1] ?? '';
    await at.ada.submit(`${annaPath}/caregivers`, { name: 'Jule Lind', personId });
    expect((await at.planOf(path)).people.map(({ spokenName }) => spokenName)).toEqual(['Anna', 'Rosa']);
    await at.ada.submit(`${at.rosaPath}/caregivers/${caregiverId}/end`, {});
    expect((await at.planOf(path)).people.map(({ spokenName }) => spokenName)).toEqual(['Anna']);
  });
});

it('logs nothing that opens anything', () => {
  // An id that was made up at random may hold the digits of a PIN.
  const log = at.clinic.logged.join('\n').replaceAll(/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/g, 'ID');
  expect(log).toContain('"route":"/l/:token/report"');
  for (const secret of [at.rosaLink.split('/')[2] ?? '', 'Rosa', '4711', '0100 555'])
    expect(log).not.toContain(secret);
});
