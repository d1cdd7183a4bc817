import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../src/listening/plan.js';
import {
  giveLink,
  openClinicWithPerson,
  owner,
  signShortProgram,
  type TestClinic,
} from '../support/clinic.js';
import { type Asking, hasProxy, host, type ProxyServer, proxies, startProxy } from './proxy.js';

const isLinux = process.platform === 'linux';
const here = Object.entries(proxies).filter(([, known]) => isLinux && hasProxy(known));

it.for(Object.entries(proxies))('has %s to stand behind', ([, known], context) => {
  const why = `not installed: ${known.package}`;
  if (process.env.CI === undefined && !hasProxy(known)) context.skip(why);
  expect(hasProxy(known), why).toBe(true);
});

const form = (fields: Record<string, string>, headers: Record<string, string> = {}): Asking => ({
  method: 'POST',
  headers: {
    'content-type': 'application/x-www-form-urlencoded',
    // As browsers without Sec-Fetch-Site say that a form comes from our own page.
    origin: `https://${host}`,
    ...headers,
  },
  body: new URLSearchParams(fields).toString(),
});

describe.skipIf(here.length === 0)('the service behind a proxy as the guide sets it up', () => {
  let clinic: TestClinic;
  let patientPath: string;
  let link: string;
  beforeAll(async () => {
    let ada: Awaited<ReturnType<typeof openClinicWithPerson>>['ada'];
    ({ clinic, ada, patientPath } = await openClinicWithPerson({ STILLCOUNT_HTTPS: 'yes' }));
    await signShortProgram(ada, patientPath);
    ({ path: link } = await giveLink(ada, patientPath));
  });
  afterAll(() => clinic?.remove());

  describe.each(here)('%s', (name, known) => {
    let folder: string;
    let proxy: ProxyServer;
    beforeAll(async () => {
      folder = await mkdtemp(join(tmpdir(), `stillcount-${name}-`));
      proxy = await startProxy(known, folder, clinic.service.address);
    });
    afterAll(async () => {
      await proxy?.end();
      await rm(folder, { recursive: true, force: true });
    });

    it('leads from http to https', async () => {
      const { status, headers } = await proxy.askPlainly('/sign-in');
      expect([301, 308]).toContain(status);
      expect(headers.location).toBe(`https://${host}/sign-in`);
      expect((await proxy.ask('/readyz')).status).toBe(200);
    });

    it('lets somebody sign in, with a cookie for https alone and links that lead back', async () => {
      const signedIn = await proxy.ask('/sign-in', form({ email: owner.email, password: owner.password }));
      expect([signedIn.status, signedIn.headers.location]).toEqual([303, '/']);
      const [set = ''] = signedIn.headers['set-cookie'] ?? [];
      expect(set).toMatch(/; Secure/);
      const cookie = set.split(';')[0] ?? '';
      const home = await proxy.ask('/', { headers: { cookie } });
      expect(home.status).toBe(200);
      expect(home.headers['strict-transport-security']).toMatch(/max-age=\d+/);
      const formToken = /name="formToken" value="([^"]+)"/.exec(home.body.toString())?.[1] ?? '';
      const given = await proxy.ask(`${patientPath}/link`, form({ formToken }, { cookie }));
      const page = given.body.toString().replaceAll('&#x2F;', '/');
      link = /\/l\/[\w-]{43}\//.exec(page)?.[0] ?? 'none';
      expect(page).toContain(`https://${host}${link}`);
      const other = await proxy.ask(
        '/sign-out',
        form({ formToken }, { cookie, origin: 'https://evil.example' }),
      );
      expect(other.status, 'from another site').toBe(403);
    });

    it('gives any byte range of a session (RFC 9110, section 14)', async () => {
      const plan: Plan = JSON.parse((await proxy.ask(`${link}plan.json`)).body.toString());
      const sound = `${link}${plan.people[0]?.sessions[0]?.audio}`;
      const whole = await proxy.ask(sound);
      expect([whole.status, whole.headers['content-type']]).toEqual([200, 'audio/mpeg']);
      const part = await proxy.ask(sound, { headers: { range: 'bytes=1000-1999' } });
      expect([part.status, part.headers['content-range']]).toEqual([
        206,
        `bytes 1000-1999/${whole.body.length}`,
      ]);
      expect(part.body.equals(whole.body.subarray(1000, 2000))).toBe(true);
    });

    it('tells the service who the visitor is, whatever the visitor says', async () => {
      const [one, other] = name === 'nginx' ? ['127.0.1.1', '127.0.1.2'] : ['127.0.2.1', '127.0.2.2'];
      const tried = (from: string, claimed: string) =>
        proxy.ask('/l', { ...form({ code: 'WRONG-CODE' }, { 'x-forwarded-for': claimed }), from });
      // Side by side: each is hashed slowly.
      const wrong = await Promise.all(
        Array.from({ length: 15 }, (_, count) => tried(one, `198.51.100.${count}`)),
      );
      expect(wrong.map(({ status }) => status)).toEqual(wrong.map(() => 404));
      expect((await tried(one, '198.51.100.99')).status, 'the sixteenth from there').toBe(429);
      expect((await tried(other, '198.51.100.99')).status, 'from elsewhere').toBe(404);
    });

    it('takes the longest form that the service takes', async () => {
      const long = (length: number) => proxy.ask('/sign-in', form({ email: 'x'.repeat(length) }));
      expect((await long(290_000)).status).toBe(401);
      const refused = await long(310_000);
      expect([refused.status, refused.body.toString()]).toEqual([413, expect.stringContaining('Stillcount')]);
    });

    it('writes no address of a listener into a log, also while the service is away', async () => {
      const away = await startProxy(known, await mkdtemp(join(folder, 'away-')), 'http://127.0.0.1:9');
      expect((await away.ask(link)).status).toBe(502);
      await away.end();
      expect(await away.told()).not.toContain('/l/');
      expect(await proxy.told()).not.toContain('/l/');
    });
  });
});
