import { chown, copyFile, mkdir, readdir, readFile, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { TOTP } from 'otpauth';
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { openMailServerForTest, type TestMailServer } from '../../channels/mailServer.js';
import { runHere } from '../../cli/runHere.js';
import { runStillcount } from '../../cli/runStillcount.js';
import { Sqlite } from '../../sqlite.js';
import {
  linkForAnotherClinic,
  openTestClinic,
  owner,
  type TestClinic,
  Visitor,
} from '../../support/clinic.js';
import { trailOf } from '../../support/reminded.js';
import { read } from '../../support/remindersClinic.js';

/** Nobody is locked out of a clinic, and nobody else gets in by the ways that lead back. */

const ben = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
const firefox = 'Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:128.0) Gecko/20100101 Firefox/128.0';
let clinic: TestClinic;
let ada: Visitor;
let mail: TestMailServer;
/** Of Ada, as she has changed it by then. */
let [email, password]: [string, string] = [owner.email, owner.password];
/** Everything that must never stand in the log. */
const secrets: string[] = [owner.password, ben.password];

const visitor = () => new Visitor(() => clinic.service.address);
const signIn = (who: Visitor, more: Record<string, string> = {}) =>
  who.post('/sign-in', { email, password, ...more });
const signedIn = async (more: Record<string, string> = {}) => {
  const who = visitor();
  expect((await signIn(who, more)).headers.get('location')).toBe('/');
  return who;
};
const isIn = async (who: Visitor) => (await who.get('/account')).status === 200;
const pageOf = async (answer: Promise<Response>) => (await (await answer).text()).replaceAll('&#x2F;', '/');

async function joined(role: string, who: typeof ben): Promise<void> {
  const page = await pageOf(ada.submit('/colleagues', { role }));
  const answer = await visitor().post(`/${/join\/[\w-]{43}/.exec(page)?.[0]}`, who);
  expect(answer.headers.get('location')).toBe('/sign-in');
}

/** The address of an act on a colleague's account, as the owner's page has it. */
async function pathFor(name: string, act: string): Promise<string> {
  const page = await pageOf(ada.get('/colleagues'));
  const [, part = ''] = page.split(`<strong>${name}</strong>`);
  return new RegExp(`/colleagues/[\\w-]{36}/${act}`).exec(part)?.[0] ?? 'none';
}

/** She has changed her password first of all. */
const adaId = () => String(trailOf(clinic, 'password-changed')[0]);

const linkIn = (page: string) => /\/reset-password\/[\w-]{43}/.exec(page)?.[0] ?? 'none';

async function linkFor(name: string, more: Record<string, string> = {}): Promise<string> {
  const page = await pageOf(ada.submit(await pathFor(name, 'password-link'), { password, ...more }));
  const link = linkIn(page);
  secrets.push(link);
  return link;
}

/** Turns the second step on. @returns its program and the recovery codes */
async function secondStepOf(who: Visitor, ownPassword: string): Promise<{ totp: TOTP; codes: string[] }> {
  const page = await pageOf(who.submit('/account/second-step', {}));
  const secret = /name="secret" value="([A-Z2-7]{32})"/.exec(page)?.[1] ?? '';
  const totp = new TOTP({ secret });
  const code = totp.generate({ timestamp: Date.now() - 30_000 });
  const on = await pageOf(who.submit('/account/second-step', { secret, password: ownPassword, code }));
  const codes = codesIn(on);
  secrets.push(secret, ...codes);
  return { totp, codes };
}

const codesIn = (page: string) =>
  [...page.matchAll(/<span class="typed code">([^<]+)<\/span>/g)].map(([, code]) => code ?? '');

beforeAll(async () => {
  mail = await openMailServerForTest();
  clinic = await openTestClinic({
    STILLCOUNT_MAIL_URL: `smtp://127.0.0.1:${mail.port}`,
    STILLCOUNT_MAIL_FROM: 'clinic@example.org',
    STILLCOUNT_ADDRESS: 'https://clinic.example.org',
  });
  ada = visitor();
  await ada.post(new URL(clinic.service.firstLink ?? '').pathname, owner);
  await joined('clinician', ben);
});
// Tries are counted in memory: each test begins with none.
beforeEach(async () => {
  await clinic.restart();
  ada = await signedIn();
});
afterAll(async () => {
  await clinic.remove();
  await mail.stop();
});

describe('one’s own password and address', () => {
  it('change with the old password only; every other sign-in ends', async () => {
    const elsewhere = await signedIn();
    const next = 'five quite other words here';
    secrets.push(next);
    const change = (fields: Record<string, string>) => ada.submit('/account/password', fields);
    expect((await change({ newPassword: next })).status).toBe(400);
    expect((await change({ password: 'not the password', newPassword: next })).status).toBe(400);
    expect(await read(change({ password, newPassword: 'short' }))).toContain('at least 12 characters');
    expect(await isIn(elsewhere)).toBe(true);
    expect(await read(change({ password, newPassword: next }))).toContain('Your password is changed');
    expect([await isIn(ada), await isIn(elsewhere)]).toEqual([true, false]);
    expect((await signIn(visitor())).status, 'the old one').toBe(401);
    password = next;
    await signedIn();
    expect(trailOf(clinic, 'password-changed')).toHaveLength(1);
  });

  it('change to an address that is free; she signs in with it from then on', async () => {
    const elsewhere = await signedIn();
    const change = (fields: Record<string, string>) => ada.submit('/account/email', fields);
    const next = 'Ada.Brandt@example.org';
    expect((await change({ newEmail: next })).status, 'no password').toBe(400);
    expect((await change({ password, newEmail: 'no address' })).status).toBe(400);
    expect(await read(change({ password, newEmail: ben.email }))).toContain('already has an account');
    expect(await isIn(elsewhere)).toBe(true);
    expect(await read(change({ password, newEmail: next }))).toContain('ada.brandt@example.org from now on');
    expect([await isIn(ada), await isIn(elsewhere)]).toEqual([true, false]);
    expect((await signIn(visitor())).status, 'the old one').toBe(401);
    email = next.toLowerCase();
    await signedIn({ email: next });
    expect(trailOf(clinic, 'email-changed')).toHaveLength(1);
  });

  it('are asked for ten times at most in a quarter of an hour, as at signing in', async () => {
    const tries = Array.from({ length: 10 }, () => ({
      password: 'a guess',
      newPassword: 'chosen by a thief',
    }));
    for (const guess of tries) expect((await ada.submit('/account/password', guess)).status).toBe(400);
    const right = { password, newPassword: 'chosen by herself' };
    expect((await ada.submit('/account/password', right)).status, 'too late').toBe(400);
    expect((await signIn(visitor())).status).toBe(429);
  });
});

describe('recovery codes', () => {
  it('stand in for the phone once each, at signing in and on the account page, until there are new ones', async () => {
    const { totp, codes } = await secondStepOf(ada, password);
    const [first = '', second = '', third = ''] = codes;
    expect(codes).toHaveLength(10);
    expect(new Set(codes).size).toBe(10);
    const [database, log] = [
      await readFile(join(clinic.folder, 'clinic.db'), 'latin1'),
      await readFile(join(clinic.folder, 'clinic.db-wal'), 'latin1'),
    ];
    for (const code of codes) {
      for (const kept of [database, log]) {
        expect(kept.includes(code) || kept.includes(code.replace(' ', '')), 'only hashes are kept').toBe(
          false,
        );
      }
    }
    expect((await signIn(visitor())).status, 'nothing beside the password').toBe(401);
    const wrong = { recoveryCode: first, password: 'not the password' };
    expect((await signIn(visitor(), wrong)).status).toBe(401);
    expect((await signIn(visitor(), { recoveryCode: 'AAAAA AAAAA' })).status).toBe(401);
    const typed = first.toLowerCase().replace(' ', '-');
    await signedIn({ recoveryCode: typed });
    expect((await signIn(visitor(), { recoveryCode: first })).status, 'a second time').toBe(401);
    expect(await read(ada.get('/account'))).toContain('Recovery codes left: 9.');
    const next = { newPassword: 'six words that nobody knows yet', password };
    secrets.push(next.newPassword);
    expect((await ada.submit('/account/password', next)).status, 'no code').toBe(400);
    expect((await ada.submit('/account/password', { ...next, recoveryCode: first })).status).toBe(400);
    expect((await ada.submit('/account/password', { ...next, recoveryCode: second })).status).toBe(200);
    password = next.newPassword;
    expect((await ada.submit('/account/recovery-codes', { password })).status, 'no code').toBe(400);
    const code = totp.generate();
    const fresh = codesIn(await pageOf(ada.submit('/account/recovery-codes', { password, code })));
    secrets.push(...fresh);
    expect(fresh).toHaveLength(10);
    expect((await signIn(visitor(), { recoveryCode: third })).status, 'of before').toBe(401);
    await signedIn({ recoveryCode: fresh[0] ?? '' });
    const elsewhere = await signedIn({ recoveryCode: fresh[3] ?? '' });
    const moved = { password, newEmail: 'ada.at.home@example.org' };
    expect((await ada.submit('/account/email', moved)).status, 'no code').toBe(400);
    const wrongly = { ...moved, password: 'not the password', recoveryCode: fresh[4] ?? '' };
    expect((await ada.submit('/account/email', wrongly)).status, 'a code alone').toBe(400);
    expect(await isIn(elsewhere)).toBe(true);
    expect((await ada.submit('/account/email', { ...moved, recoveryCode: fresh[4] ?? '' })).status).toBe(200);
    expect([await isIn(ada), await isIn(elsewhere)], 'the others are ended').toEqual([true, false]);
    email = moved.newEmail;
    const off = { password, recoveryCode: fresh[1] ?? '' };
    expect((await ada.submit('/account/no-second-step', off)).status, 'the phone is lost').toBe(303);
    await signedIn();
    const again = await secondStepOf(ada, password);
    expect((await signIn(visitor(), { recoveryCode: fresh[2] ?? '' })).status, 'of an earlier step').toBe(
      401,
    );
    const last = { password, code: again.totp.generate() };
    expect((await ada.submit('/account/no-second-step', last)).status).toBe(303);
    expect(trailOf(clinic, 'recovery-code-used')).toHaveLength(6);
    expect(trailOf(clinic, 'recovery-codes-made')).toHaveLength(1);
  });
});

describe('a link for a colleague who forgot their password', () => {
  const setPassword = (link: string, chosen: string) => visitor().post(link, { password: chosen });
  const benIn = (more: Record<string, string> = {}) =>
    signIn(visitor(), { email: ben.email, password: ben.password, ...more });

  it('sets a new password once, within a day, and signs them out; a newer link ends it', async () => {
    const hisPage = visitor();
    await hisPage.post('/sign-in', ben);
    const path = await pathFor(ben.name, 'password-link');
    expect((await ada.submit(path, {})).status, 'whoever sits at her open page').toBe(400);
    expect((await hisPage.submit(path, { password: ben.password })).status, 'no owner').toBe(403);
    const own = path.replace(/[\w-]{36}/, adaId());
    expect((await ada.submit(own, { password })).status, 'for herself there is the account page').toBe(404);
    const older = await linkFor(ben.name);
    const link = await linkFor(ben.name);
    expect(link).toMatch(/^\/reset-password\/[\w-]{43}$/);
    expect((await visitor().get(older)).status).toBe(404);
    expect((await visitor().get(link.slice(0, -1))).status, 'guessed').toBe(404);
    expect((await setPassword(link.slice(0, -1), 'a long enough password')).status).toBe(404);
    expect(await read(visitor().get(link))).toContain('For Ben Okoro at Quillmere.');
    expect((await setPassword(link, 'short')).status).toBe(400);
    expect([(await benIn()).status, await isIn(hisPage)], 'nothing has changed yet').toEqual([303, true]);
    ben.password = 'remembered this time round';
    secrets.push(ben.password);
    // Whoever tries in vain ten times is not kept out by it after that.
    for (let tries = 0; tries < 10; tries += 1) await benIn({ password: 'forgotten' });
    expect((await benIn()).status).toBe(429);
    expect((await setPassword(link, ben.password)).headers.get('location')).toBe('/sign-in');
    expect(await isIn(hisPage)).toBe(false);
    expect((await benIn()).status).toBe(303);
    expect((await setPassword(link, 'and yet another password')).status, 'a second time').toBe(404);
    expect((await benIn({ password: 'and yet another password' })).status).toBe(401);
    expect(trailOf(clinic, 'password-link-made')).toHaveLength(2);
    expect(trailOf(clinic, 'password-reset')).toHaveLength(1);
  });

  it('works no longer after a day, nor once they have changed their password themselves', async () => {
    const late = await linkFor(ben.name);
    clinic.clock.aheadMs += 24 * 3_600_000;
    expect((await visitor().get(late)).status).toBe(404);
    expect((await setPassword(late, 'a long enough password')).status).toBe(404);
    ada = await signedIn();
    const link = await linkFor(ben.name);
    const his = visitor();
    await his.post('/sign-in', ben);
    const newPassword = 'he remembered it after all';
    await his.submit('/account/password', { password: ben.password, newPassword });
    ben.password = newPassword;
    secrets.push(newPassword);
    expect((await setPassword(link, 'a long enough password')).status).toBe(404);
    clinic.clock.aheadMs = 0;
  });

  it('leaves the second step on, unless the owner ticks to take it away', async () => {
    const his = visitor();
    await his.post('/sign-in', ben);
    const { codes } = await secondStepOf(his, ben.password);
    ben.password = 'words for the third time';
    secrets.push(ben.password);
    await setPassword(await linkFor(ben.name), ben.password);
    expect((await benIn()).status, 'a code is asked for').toBe(401);
    expect((await benIn({ recoveryCode: codes[0] ?? '' })).status).toBe(303);
    const link = await linkFor(ben.name, { clearsSecondStep: 'yes' });
    expect((await benIn()).status, 'not before it is used').toBe(401);
    await setPassword(link, ben.password);
    expect((await benIn()).status).toBe(303);
    expect(trailOf(clinic, 'second-step-removed').length).toBeGreaterThan(0);
  });

  it('is made for nobody of another clinic', async () => {
    const eve = visitor();
    const eveLink = await linkForAnotherClinic(clinic);
    await eve.post(new URL(eveLink).pathname, { ...owner, email: 'eve@example.org' });
    ada = await signedIn();
    const path = await pathFor(ben.name, 'password-link');
    expect((await eve.submit(path, { password: owner.password })).status).toBe(404);
    expect(trailOf(clinic, 'password-link-made')).toHaveLength(6);
  });
});

describe('stillcount owner-link', () => {
  const ask = (...args: string[]) =>
    runStillcount(['owner-link', ...args], {
      STILLCOUNT_DATA: clinic.folder,
      STILLCOUNT_ADDRESS: clinic.service.address,
    });
  const seen = (who: Visitor) => read(who.get('/'));

  it('lets an owner back in beside the running service; every owner sees it until they say so', async () => {
    const zoe = { name: 'Zoe Lind', email: 'zoe@example.org', password: 'long words of another owner' };
    secrets.push(zoe.password);
    await joined('owner', zoe);
    const [other, his] = [visitor(), visitor()];
    await other.post('/sign-in', zoe);
    await his.post('/sign-in', ben);
    await secondStepOf(ada, password);
    const { code, stdout } = await ask('--email', email.toUpperCase(), '--clear-second-step');
    expect(code).toBe(0);
    const link = linkIn(stdout);
    secrets.push(link);
    expect(stdout).toContain(`${clinic.service.address}${link}\n`);
    expect(stdout).toContain('Using it also turns off two-step verification.');
    await vi.waitFor(async () => expect((await visitor().get(link)).status).toBe(200), 20_000);
    const told =
      /Password links made on the server A link to set a new password for Ada Brandt was made on .*; it still works/;
    expect(await seen(other)).toMatch(told);
    expect(await seen(ada), 'she is an owner too').toMatch(told);
    expect(await seen(his), 'no owner').not.toContain('Password links made on the server');
    expect((await his.submit('/owner-links/seen', { upToMs: String(Date.now()) })).status).toBe(403);
    password = 'chosen by the link of the machine';
    secrets.push(password);
    expect((await visitor().post(link, { password })).headers.get('location')).toBe('/sign-in');
    expect(await isIn(ada)).toBe(false);
    ada = await signedIn();
    expect(await seen(other)).toMatch(/Ada Brandt was made on .+, and used on/);
    // The page may also hold a form for what failed meanwhile, with a time of its own.
    const form = /action="\/owner-links\/seen".*?name="upToMs" value="(\d+)"/s;
    const upToMs = form.exec(await pageOf(other.get('/')))?.[1] ?? '';
    expect((await other.submit('/owner-links/seen', { upToMs })).status).toBe(303);
    expect(await seen(other)).not.toContain('Password links made on the server');
    expect(await seen(ada), 'each for herself').toContain('Password links made on the server');
    expect(trailOf(clinic, 'owner-link-made')).toEqual([adaId()]);
    expect(await read(ada.get('/records'))).toContain('Owner password reset link made on the server');
  });

  it('leaves the link for a service that is not running', async () => {
    await clinic.service.stop();
    const { code, stdout } = await ask('--email', email);
    expect(code).toBe(0);
    expect(stdout).toContain('otherwise once the service is started');
    const link = linkIn(stdout);
    secrets.push(link);
    await clinic.restart();
    expect((await visitor().get(link)).status, 'at once').toBe(200);
    await clinic.restart();
    expect((await visitor().get(link)).status, 'and still').toBe(200);
    expect(trailOf(clinic, 'owner-link-made')).toHaveLength(2);
  });

  // Only who may act for every user can leave it for another one.
  it.skipIf(process.getuid?.() !== 0)('leaves it for the user who runs the service', async () => {
    const [folder, uid] = [join(clinic.folder, 'of another user'), 12_345];
    await mkdir(folder);
    await copyFile(join(clinic.folder, 'clinic.db'), join(folder, 'clinic.db'));
    await chown(folder, uid, uid);
    const left = await runStillcount(['owner-link', '--email', email], { STILLCOUNT_DATA: folder });
    expect(left).toMatchObject({ code: 0, stderr: '' });
    const links = join(folder, 'owner-links');
    const [name = ''] = await readdir(links);
    const [holder, file] = [await stat(links), await stat(join(links, name))];
    expect([holder.uid, file.uid, file.mode & 0o777, holder.mode & 0o777]).toEqual([uid, uid, 0o600, 0o700]);
    const kept = await readFile(join(links, name), 'utf8');
    expect(kept).not.toContain(linkIn(left.stdout).replace('/reset-password/', ''));
  });

  it('names what is wrong with an address, and who the owners are', async () => {
    const asked = (folder: string, address: string) =>
      runHere(['owner-link', '--email', address], { STILLCOUNT_DATA: folder });
    const nobody = await asked(clinic.folder, 'none@example.org');
    const noOwner = await asked(clinic.folder, ben.email);
    expect([nobody.code, noOwner.code]).toEqual([2, 2]);
    expect(nobody.stderr).toContain('no one signs in with this address');
    expect(nobody.stderr).toContain(email);
    expect(noOwner.stderr).toContain('this account is not an owner');
    expect([nobody.stdout, noOwner.stdout]).toEqual(['', '']);
    const none = await asked(join(clinic.folder, 'nowhere'), email);
    expect(none).toMatchObject({ code: 1, stderr: expect.stringContaining('there is no database here yet') });
    const file = join(clinic.folder, 'older', 'clinic.db');
    await mkdir(dirname(file));
    const older = new Sqlite(file);
    older.exec(await readFile(join('tests', 'store', 'released', '0008-note-findings.sql'), 'utf8'));
    older.close();
    const before = await asked(dirname(file), email);
    expect(before).toMatchObject({
      code: 1,
      stderr: expect.stringContaining('start this version of the service'),
    });
  });
});

describe('an account that has ended', () => {
  it('leaves its address free for a new invitation, and its links and sign-ins are dead', async () => {
    const kim = { name: 'Kim Vale', email: 'kim@example.org', password: 'the first words of Kim' };
    secrets.push(kim.password);
    await joined('clinician', kim);
    const his = visitor();
    await his.post('/sign-in', kim);
    const link = await linkFor(kim.name);
    expect((await ada.submit(await pathFor(kim.name, 'end'), {})).status).toBe(303);
    expect((await visitor().post(link, { password: 'a long enough password' })).status).toBe(404);
    expect(await isIn(his)).toBe(false);
    expect((await visitor().post('/sign-in', kim)).status).toBe(401);
    await joined('read-only', { ...kim, name: 'Kim Vale again' });
    expect((await visitor().post('/sign-in', kim)).status).toBe(303);
    const page = await read(ada.get('/colleagues'));
    expect(page).toMatch(/Kim Vale, kim@example.org [^.]+\. Closed on/);
    expect(page).toContain('Kim Vale again, kim@example.org');
  });
});

describe('where one is signed in', () => {
  it('is listed by device; each can be ended, and all others at once', async () => {
    const phone = visitor();
    const signInFrom = (who: Visitor, agent: string) =>
      who.post('/sign-in', { email, password }, { 'user-agent': agent });
    await signInFrom(phone, firefox);
    const third = await signedIn();
    const page = await pageOf(ada.get('/account'));
    expect(page).toContain('<strong>Firefox, Windows</strong>');
    expect(page.match(/\(this device\)/g)).toHaveLength(1);
    const [, part = ''] = page.split('<strong>Firefox, Windows</strong>');
    const end = /\/account\/sign-ins\/[0-9a-f]{64}\/end/.exec(part)?.[0] ?? 'none';
    const his = visitor();
    await his.post('/sign-in', ben);
    expect((await his.submit(end, {})).status, 'another’s').toBe(404);
    expect(await isIn(phone)).toBe(true);
    expect((await ada.submit(end, {})).headers.get('location')).toBe('/account#sign-ins');
    expect([await isIn(phone), await isIn(third), await isIn(ada)]).toEqual([false, true, true]);
    expect((await ada.submit(end, {})).status, 'again').toBe(404);
    expect((await ada.submit('/account/sign-ins/end-others', {})).status).toBe(303);
    expect([await isIn(third), await isIn(ada), await isIn(his)]).toEqual([false, true, true]);
    expect(await pageOf(ada.get('/account'))).not.toContain('Sign out everywhere else');
    expect(trailOf(clinic, 'sign-in-ended')).toHaveLength(1);
    expect(trailOf(clinic, 'other-sign-ins-ended')).toHaveLength(1);
  });
});

describe('all of it', () => {
  it('is told by mail to whom it concerns, without a secret in it', async () => {
    // What a stop of the service took back is sent again after a while.
    clinic.clock.aheadMs = 2 * 60_000;
    const subjects = (to: string) =>
      mail.received.filter((each) => each.to.includes(to)).map(({ parsed }) => parsed.subject);
    await vi.waitFor(() => {
      expect(subjects('zoe@example.org')).toContain('An owner password link was made on the server');
      expect(subjects(email)).toContain('An owner password link was made on the server');
      expect(subjects(email)).toContain('Your password was changed');
      expect(subjects(owner.email), 'the address of before').toContain(
        'Your email address for signing in was changed',
      );
      expect(subjects(ben.email)).toContain('A link to set a new password');
      expect(subjects(ben.email)).toContain('Your password was changed');
    }, 40_000);
    const letters = mail.received.map(({ raw }) => raw.toString()).join('\n');
    expect(secrets.filter((secret) => letters.includes(secret))).toEqual([]);
  });

  it('leaves no secret in the log', () => {
    const log = clinic.logged.join('\n');
    const tokens = secrets.map((secret) => secret.replace('/reset-password/', ''));
    expect(tokens.length).toBeGreaterThan(40);
    expect(tokens.filter((secret) => log.includes(secret))).toEqual([]);
    expect(log).toContain('/reset-password/:token');
  });
});
