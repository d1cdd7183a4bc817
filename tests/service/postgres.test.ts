import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runStillcount } from '../cli/runStillcount.js';
import { hasServer, whyNoServer } from '../store/databases.js';
import { makePostgresServer, postgresPrograms } from '../store/postgresServer.js';
import {
  addPerson,
  answerInterview,
  openClinicWithPerson,
  owner,
  person,
  screen,
  type TestClinic,
  Visitor,
} from '../support/clinic.js';
import { formOf } from '../support/forms.js';

/** The pages on a PostgreSQL server, above all what many connections make possible. */

it('has a PostgreSQL server to run against', (context) => {
  if (!hasServer && process.env.CI === undefined) context.skip(whyNoServer);
  expect(hasServer, whyNoServer).toBe(true);
});

describe.skipIf(!hasServer)('the pages on PostgreSQL', () => {
  let server: Awaited<ReturnType<typeof makePostgresServer>>;
  let clinic: TestClinic;
  let ada: Visitor;
  beforeAll(async () => {
    server = await makePostgresServer(postgresPrograms() ?? '');
    ({ clinic, ada } = await openClinicWithPerson({ DATABASE_URL: server.url }));
  });
  afterAll(async () => {
    await clinic.remove();
    await server.remove();
  });

  /** Few enough that everyone stands on the first page. */
  const rounds = 5;
  const begin = async (path: string) =>
    formOf(await ada.submit(`${path}/prescribe`, { starter: 'first', do: 'starter' }));
  const sign = (path: string, form: Record<string, string>) =>
    ada.post(`${path}/prescribe`, { ...form, reason: 'A start', do: 'sign' });
  it('screen, prescribe, sign, find and leave a trail like on SQLite', async () => {
    const path = await addPerson(ada, { ...person, name: 'Ines Moor' });
    await screen(ada, path, []);
    const program = (await sign(path, await begin(path))).headers.get('location') ?? '';
    expect(await (await ada.get(program)).text()).toContain('A start');
    expect(await (await ada.submit('/', { q: 'moor' })).text()).toContain('Ines Moor');
    expect(await (await ada.get(`/records?patient=${path.split('/')[2]}`)).text()).toContain(
      'Version signed',
    );
    for (const zero of ['a\0b', '\0']) {
      expect((await ada.submit('/', { q: zero })).status).toBe(400);
      expect((await new Visitor(() => clinic.service.address).post('/sign-in', { email: zero })).status).toBe(
        400,
      );
    }
    const edit = { ...person, name: 'Ines Moor', revision: '9007199254740991' };
    expect((await ada.submit(`${path}/edit`, edit)).status).toBe(400);
  });

  it('never let a program run against what cannot wait, whichever request comes first', async () => {
    for (let round = 0; round < rounds; round += 1) {
      const path = await addPerson(ada, { ...person, name: `Racing ${round}` });
      await screen(ada, path, []);
      const program = (await sign(path, await begin(path))).headers.get('location') ?? '';
      await ada.submit(`${program}/state`, { state: 'paused', reason: 'Holiday' });
      const [stop, formToken] = [await answerInterview(ada, path, ['calf-signs']), await ada.formToken()];
      const resume = { state: 'active', reason: 'Back', formToken };
      const [resumed, screened] = await Promise.all([
        ada.post(`${program}/state`, resume),
        ada.post(stop, { formToken }),
      ]);
      expect([303, 400]).toContain(resumed.status);
      expect(screened.status).toBe(303);
      expect(await (await ada.get(program)).text(), `round ${round}`).toContain('Paused.');
      expect(await (await ada.get('/')).text()).toContain(
        `<strong>Racing ${round}</strong>: Needs to see a doctor first`,
      );
    }
  });

  it('sign on the interview that stands, or not at all', async () => {
    for (let round = 0; round < rounds; round += 1) {
      const path = await addPerson(ada, { ...person, name: `Signing ${round}` });
      await screen(ada, path, []);
      const form = await begin(path);
      const [newer, formToken] = [
        await answerInterview(ada, path, ['memory-problems']),
        await ada.formToken(),
      ];
      const [signed, screened] = await Promise.all([sign(path, form), ada.post(newer, { formToken })]);
      expect(screened.status).toBe(303);
      expect([303, 400]).toContain(signed.status);
      const home = await (await ada.get('/')).text();
      const why = new RegExp(`<strong>Signing ${round}</strong>: ([^<]+)`).exec(home)?.[1]?.trim();
      expect(why, `round ${round}`).toBe(
        signed.status === 303 ? 'Re-screened since the program was signed' : 'Screened, no program yet',
      );
    }
  });

  it('are open again to an owner by a link made on the machine, at once', async () => {
    const settings = { STILLCOUNT_DATA: clinic.folder, DATABASE_URL: server.url };
    const made = await runStillcount(['owner-link', '--email', owner.email], settings);
    expect(made).toMatchObject({ code: 0, stdout: expect.stringContaining('It works at once') });
    const link = /\/reset-password\/[\w-]{43}/.exec(made.stdout)?.[0] ?? 'none';
    const visitor = new Visitor(() => clinic.service.address);
    const password = 'chosen by the link of the machine';
    expect((await visitor.post(link, { password })).headers.get('location')).toBe('/sign-in');
    expect((await ada.get('/')).headers.get('location'), 'signed out').toBe('/sign-in');
    expect((await ada.post('/sign-in', { email: owner.email, password })).headers.get('location')).toBe('/');
    expect(await (await ada.get('/')).text()).toContain('Password links made on the server');
  });

  it('keep one measure of a name for the whole clinic, on whoever’s pages it is added at one moment', async () => {
    const paths = [
      await addPerson(ada, { ...person, name: 'Nora Hale' }),
      await addPerson(ada, { ...person, name: 'Otto Lund' }),
    ];
    for (let round = 0; round < rounds; round += 1) {
      const formToken = await ada.formToken();
      const own = { name: `Grip ${round}`, unit: 'kg', least: '0', most: '90', better: 'higher', formToken };
      const answers = await Promise.all(paths.map((path) => ada.post(`${path}/measures/own`, own)));
      expect(answers.map(({ status }) => status).sort(), `round ${round}`).toEqual([303, 400]);
    }
  });
});
