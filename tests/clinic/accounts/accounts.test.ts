import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { TOTP } from 'otpauth';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
  linkForAnotherClinic,
  openClinicWithPerson,
  owner,
  person,
  type TestClinic,
  Visitor,
} from '../../support/clinic.js';

let clinic: TestClinic;
let ada: Visitor;
let patientPath: string;

beforeAll(async () => {
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
});
afterAll(() => clinic.remove());

const visitor = () => new Visitor(() => clinic.service.address);
const signIn = (who: Visitor, more: Record<string, string> = {}) =>
  who.post('/sign-in', { email: owner.email, password: owner.password, ...more });

describe('the first start', () => {
  it('offers its link once, and no longer when there is a clinic', async () => {
    await clinic.restart();
    expect(clinic.service.firstLink).toBeNull();
    expect((await visitor().get('/begin/guessed')).status).toBe(404);
    expect((await visitor().post('/begin/guessed', owner)).status).toBe(404);
  });

  it('tells what is wrong with the form, and keeps what was typed except the password', async () => {
    const link = await linkForAnotherClinic(clinic);
    const wrong = { ...owner, zone: 'Mars/Olympus', password: 'short' };
    const response = await visitor().post(new URL(link).pathname, wrong);
    const page = await response.text();
    expect(response.status).toBe(400);
    expect(page).toContain('a time zone such as');
    expect(page).toContain('at least 12 characters');
    expect(page).toContain('value="Ada Brandt"');
    expect(page).not.toContain('short"');
  });
});

describe('signing in', () => {
  it('needs address and password together, and says nothing about which was wrong', async () => {
    const [wrongPassword, nobody] = await Promise.all([
      signIn(visitor(), { password: 'not the password' }),
      signIn(visitor(), { email: 'nobody@example.org' }),
    ]);
    const said = 'Email, password, or code is incorrect';
    expect([wrongPassword.status, nobody.status]).toEqual([401, 401]);
    expect(await wrongPassword.text()).toContain(said);
    expect(await nobody.text()).toContain(said);
    const bob = visitor();
    expect((await signIn(bob, { email: owner.email.toUpperCase() })).headers.get('location')).toBe('/');
    expect((await bob.get('/')).status).toBe(200);
  });

  it('is refused after ten wrong tries, for that account only', async () => {
    const statuses: number[] = [];
    for (let attempt = 0; attempt < 11; attempt += 1) {
      statuses.push((await signIn(visitor(), { email: 'tried@example.org' })).status);
    }
    expect(statuses).toEqual([...Array.from({ length: 10 }, () => 401), 429]);
    expect((await signIn(visitor())).status).toBe(303);
  });

  it('gives a cookie that no script and no other site can use', async () => {
    const response = await signIn(visitor());
    const cookie = response.headers.get('set-cookie') ?? '';
    expect(cookie).toMatch(/^stillcount=[\w-]{43};/);
    for (const part of ['HttpOnly', 'SameSite=Lax', 'Path=/']) expect(cookie).toContain(part);
    const kept = await readFile(join(clinic.folder, 'clinic.db'), 'latin1');
    const token = cookie.slice('stillcount='.length, cookie.indexOf(';'));
    expect(kept.includes(token), 'only its hash is kept').toBe(false);
  });

  it('knows the cookie among others; of two with one name the first counts (RFC 6265, section 5.4)', async () => {
    const her = visitor();
    await signIn(her);
    const other = 'stillcount=of-a-wider-path';
    const statusWith = async (cookies: string) => (await visitor().get('/', { cookie: cookies })).status;
    expect(await statusWith(`theme=dark; odd; ${her.cookie}; ${other}`)).toBe(200);
    expect(await statusWith(`${other}; ${her.cookie}`)).toBe(303);
  });

  it('asks for a code once a second step is set up, takes each code once, and can be undone', async () => {
    const bob = visitor();
    await signIn(bob);
    const page = await (await bob.submit('/account/second-step', {})).text();
    const secret = /name="secret" value="([A-Z2-7]{32})"/.exec(page)?.[1] ?? '';
    const totp = new TOTP({ secret });
    const codeAt = (step: number) => totp.generate({ timestamp: Date.now() + step * 30_000 });
    const { password } = owner;
    const setUp = (fields: Record<string, string>) =>
      bob.submit('/account/second-step', { secret, ...fields });
    expect((await setUp({ password, code: '000000' })).status).toBe(400);
    expect((await setUp({ code: codeAt(-1) })).status, 'whoever sits at her open page').toBe(400);
    const first = codeAt(-1);
    const turnedOn = await setUp({ password, code: first });
    expect(turnedOn.status).toBe(200);
    expect(await turnedOn.text()).toContain('Keep these recovery codes');
    const other = { secret: 'A'.repeat(32), password, code: codeAt(0) };
    expect((await bob.submit('/account/second-step', other)).status, 'one is set up already').toBe(200);
    expect((await signIn(visitor())).status, 'no code').toBe(401);
    expect((await signIn(visitor(), { code: first })).status, 'used in setting it up').toBe(401);
    const code = codeAt(0);
    expect((await signIn(visitor(), { code })).status).toBe(303);
    expect((await signIn(visitor(), { code })).status, 'a second time').toBe(401);
    const takeAway = (fields: Record<string, string>) => bob.submit('/account/no-second-step', fields);
    expect((await takeAway({ password, code: '000000' })).status).toBe(400);
    expect((await takeAway({ code: codeAt(1) })).status).toBe(400);
    expect((await takeAway({ password, code })).status, 'a code that was used').toBe(400);
    expect((await signIn(visitor())).status, 'still on').toBe(401);
    expect((await takeAway({ password, code: codeAt(1) })).status).toBe(303);
    expect((await signIn(visitor())).status).toBe(303);
  });

  it('ends when she says so, here or everywhere', async () => {
    const [here, there] = [visitor(), visitor()];
    await Promise.all([signIn(here), signIn(there)]);
    const cookie = here.cookie;
    await here.submit('/sign-out', {});
    here.cookie = cookie;
    expect((await here.get('/')).headers.get('location')).toBe('/sign-in');
    await there.submit('/sign-out-everywhere', {});
    for (const who of [there, ada]) expect((await who.get('/')).headers.get('location')).toBe('/sign-in');
    await signIn(ada);
    expect((await ada.get('/')).status).toBe(200);
  });
});

describe('colleagues', () => {
  const joiner = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
  const linkFor = async (role: string) => {
    const page = await (await ada.submit('/colleagues', { role })).text();
    return /join\/[\w-]{43}/.exec(page.replaceAll('&#x2F;', '/'))?.[0] ?? '';
  };

  it('join once by a link, may do what their role says, and nothing after their account has ended', async () => {
    const link = `/${await linkFor('read-only')}`;
    const ben = visitor();
    expect((await ben.post(link, { ...joiner, email: owner.email })).status, 'taken').toBe(400);
    expect((await ben.post(link, { ...joiner, password: 'short' })).status).toBe(400);
    expect((await ben.post(link, joiner)).headers.get('location')).toBe('/sign-in');
    expect((await visitor().post(link, { ...joiner, email: 'twin@example.org' })).status).toBe(404);
    await ben.post('/sign-in', joiner);
    expect(await (await ben.get(patientPath)).text()).not.toContain('Prescribe a program');
    for (const path of ['/patients/new', `${patientPath}/edit`, `${patientPath}/prescribe`]) {
      expect((await ben.get(path)).status, path).toBe(403);
      expect((await ben.submit(path, person)).status, path).toBe(403);
    }
    expect((await ben.get('/colleagues')).status, 'owners only').toBe(403);
    expect((await ben.submit('/colleagues', { role: 'owner' })).status).toBe(403);
    const page = await (await ada.get('/colleagues')).text();
    const end = /\/colleagues\/[\w-]{36}\/end/.exec(page)?.[0] ?? '';
    expect((await ada.submit(end, {})).status).toBe(303);
    expect((await ben.get('/')).headers.get('location')).toBe('/sign-in');
    expect((await ben.post('/sign-in', joiner)).status).toBe(401);
    expect((await ada.submit(end, {})).status, 'again').toBe(404);
    expect((await ada.submit('/colleagues', { role: 'boss' })).status).toBe(400);
  });

  it('of another clinic cannot be ended, nor oneself', async () => {
    const eve = visitor();
    const eveLink = await linkForAnotherClinic(clinic);
    await eve.post(new URL(eveLink).pathname, { ...owner, email: 'eve@example.org' });
    const page = await (await eve.get('/colleagues')).text();
    expect(page).not.toContain('Ben Okoro');
    const link = `/${await linkFor('clinician')}`;
    const cleo = { ...joiner, name: 'Cleo', email: 'cleo@example.org' };
    await visitor().post(link, cleo);
    const end = /\/colleagues\/[\w-]{36}\/end/.exec(await (await ada.get('/colleagues')).text())?.[0] ?? '';
    expect((await eve.submit(end, {})).status).toBe(404);
    expect((await visitor().post('/sign-in', cleo)).status, 'the account is as it was').toBe(303);
  });
});
