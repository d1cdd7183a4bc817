import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startService } from '../../../src/service/start.js';
import {
  addPerson,
  linkForAnotherClinic,
  openClinicWithPerson,
  owner,
  person,
  type TestClinic,
  Visitor,
} from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';

let clinic: TestClinic;
let ada: Visitor;
/** Of another clinic. */
let eve: Visitor;
let patientPath: string;

const evil = `<script>alert(1)</script> ${'"\'&{{{name}}}'} ÄÖ 漢字 🙂`;

beforeAll(async () => {
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
  const link = await linkForAnotherClinic(clinic);
  eve = visitor();
  await eve.post(new URL(link).pathname, { ...owner, email: 'eve@example.org' });
});
afterAll(() => clinic.remove());

const visitor = () => new Visitor(() => clinic.service.address);

describe('requests that are not hers', () => {
  it('from another site are refused, by header and by form token', async () => {
    const fields = { ...person, name: 'Intruder', formToken: await ada.formToken() };
    const crossSite = await ada.post('/patients/new', fields, { 'sec-fetch-site': 'cross-site' });
    expect(crossSite.status).toBe(403);
    const origin = { 'sec-fetch-site': '', origin: 'https://evil.example' };
    expect((await ada.post('/patients/new', fields, origin)).status).toBe(403);
    const noToken = await ada.post('/patients/new', { ...fields, formToken: 'guessed' });
    expect(noToken.status).toBe(400);
    expect(await (await ada.submit('/', { q: 'intruder' })).text()).toContain('No patient by that name');
  });

  it('for the people of another clinic find nothing, whatever they ask', async () => {
    expect((await eve.get('/')).status).toBe(200);
    expect(await (await eve.get('/')).text()).not.toContain('Rosa');
    for (const path of ['', '/edit', '/prescribe']) {
      expect((await eve.get(`${patientPath}${path}`)).status, path).toBe(404);
    }
    for (const path of ['/edit', '/prescribe', '/prescribe/preview']) {
      expect((await eve.submit(`${patientPath}${path}`, person)).status, path).toBe(404);
    }
    expect(await (await eve.get(`/records?patient=${patientPath.split('/')[2]}`)).text()).not.toContain(
      'Rosa',
    );
  });

  it('without a sign-in are sent to it, also for audio', async () => {
    for (const path of ['/', patientPath, '/records', '/account', '/help', '/help/upgrade']) {
      expect((await visitor().get(path)).headers.get('location'), path).toBe('/sign-in');
    }
    expect((await visitor().get('/audio/any.mp3')).status).toBe(401);
  });
});

describe('the guide', () => {
  it('stands under Help, chapter by chapter and whole, as it is printed on a terminal', async () => {
    const help = await (await ada.get('/help')).text();
    expect(help).toContain('<a href="/help">Help</a>');
    const chapters = [...help.matchAll(/<a href="(\/help\/[a-z-]+)">/g)].map(([, path = '']) => path);
    expect(chapters.length).toBeGreaterThan(15);
    const whole = await (await ada.get('/help/whole/guide')).text();
    for (const path of chapters) {
      const answer = await ada.get(path);
      const page = await answer.text();
      const article = /<article class="guide">[\s\S]*<\/article>/.exec(page)?.[0] ?? 'none';
      expect([path, answer.status, article.match(/<h1>/g)?.length]).toEqual([path, 200, 1]);
      expect(whole).toContain(article);
      for (const [, to = ''] of article.matchAll(/href="(\/[^"]+)"/g)) expect(chapters).toContain(to);
    }
    const nginx = await (await ada.get('/help/https')).text();
    expect(nginx).toContain('proxy_set_header X-Forwarded-For $remote_addr;');
    expect((await ada.get('/help/nothing')).status).toBe(400);
  });
});

describe('a person', () => {
  it('is shown as typed and never as markup, and said to be wrong with the place', async () => {
    const name = `${evil} ${'x'.repeat(400)}`;
    const location = await addPerson(ada, { ...person, name });
    const page = await (await ada.get(location)).text();
    expect(page).toContain('&lt;script&gt;alert(1)&lt;');
    expect(page).not.toContain('<script>alert');
    expect(page).toContain('{{{name}}}');
    const program = await (
      await ada.submit(`${location}/prescribe`, { starter: 'first', do: 'starter' })
    ).text();
    expect(program, 'a name that cannot be said is left out of the session').toContain(
      'under tension per week',
    );
    const unspeakable = await ada.submit('/patients/new', { ...person, spokenName: '<b>' });
    expect(await unspeakable.text()).toContain('<strong>Spoken name</strong>');
    const wrong = await ada.submit('/patients/new', { ...person, name: '', birthYear: '12' });
    expect(wrong.status).toBe(400);
    const said = await wrong.text();
    expect(said).toContain('<strong>Name</strong>');
    expect(said).toContain('<strong>Birth year</strong>');
  });

  it('changed by two at once: the second sees the first one’s and loses nothing', async () => {
    const change = (hearingNotes: string) =>
      ada.submit(`${patientPath}/edit`, { ...person, spokenName: 'Rosa', revision: '1', hearingNotes });
    expect((await change('Left ear is better')).status).toBe(303);
    const second = await change('Wears an aid');
    const page = await second.text();
    expect(second.status).toBe(400);
    expect(page).toContain('Hearing: Left ear is better');
    expect(page).toContain('value="Wears an aid"');
    expect(page).toContain('name="revision" value="2"');
  });
});

describe('a program', () => {
  const starter = { starter: 'first', do: 'starter' };
  it('is at the usual times of day, or at her own, in whatever order she gives them', async () => {
    const form = await formOf(await ada.submit(`${patientPath}/prescribe`, starter));
    const sign = (times: Record<string, string>, reason: string) =>
      ada.post(`${patientPath}/prescribe`, { ...form, timesADay: '2', ...times, reason, do: 'sign' });
    const tooFew = await sign({ 'timesOfDay.0': '17:30' }, 'Usual');
    expect(tooFew.status).toBe(400);
    const told = await tooFew.text();
    expect(told).toContain('one time for each session of the day, or none at all');
    expect(told, 'what she typed is still there').toContain('name="timesOfDay.0" value="17:30"');
    const path = (await sign({}, 'Usual')).headers.get('location') ?? '';
    expect(await (await ada.get(path)).text()).toContain(
      'Every day at 9:00 AM and 5:00 PM (the usual times); review date ',
    );
    const next = await formOf(await ada.get(`${path}/change`));
    const own = { 'timesOfDay.0': '17:30', 'timesOfDay.1': '08:00', reason: 'Sleeps late', do: 'sign' };
    await ada.post(`${path}/change`, { ...next, ...own });
    const page = await (await ada.get(path)).text();
    expect(page).toContain('Every day at 8:00 AM and 5:30 PM; review date ');
    expect(page).toContain('How often: times 8:00 AM, 5:30 PM (was the usual times)');
    const again = await formOf(await ada.get(`${path}/change`));
    expect([again['timesOfDay.0'], again['timesOfDay.1']]).toEqual(['08:00', '17:30']);
  });

  it('can be prescribed, changed, paused and ended without any script, and every step is on record', async () => {
    const form = await formOf(await ada.submit(`${patientPath}/prescribe`, starter));
    expect(form['program.exercises.1.dose.holdSeconds']).toBe('5');
    const unexplained = await ada.post(`${patientPath}/prescribe`, { ...form, reason: '', do: 'sign' });
    expect(unexplained.status).toBe(400);
    const signed = await ada.post(`${patientPath}/prescribe`, {
      ...form,
      reason: 'Gentle start',
      do: 'sign',
    });
    const path = signed.headers.get('location') ?? '';
    expect(path).toMatch(/^\/prescriptions\//);
    const next = await formOf(await ada.get(`${path}/change`));
    const hold = { 'program.exercises.1.dose.holdSeconds': '6' };
    await ada.post(`${path}/change`, { ...next, ...hold, reason: 'Held well', do: 'sign' });
    expect(await (await ada.get(path)).text()).toContain('Straight head press: hold 6 s (was 5 s)');
    const conflicting = { ...next, 'program.exercises.1.dose.reps': '6', reason: 'More', do: 'sign' };
    const conflict = await ada.post(`${path}/change`, conflicting);
    const both = await conflict.text();
    expect(conflict.status).toBe(409);
    expect(both).toContain('signed version 2 while you were working');
    expect(both).toContain('repetitions 6 (was 5)');
    expect(both).toContain('hold 5 s (was 6 s)');
    const onTop = await formOf(await ada.get(`${path}/change`));
    expect(onTop['program.exercises.1.dose.reps'], 'her work is kept as a draft').toBe('6');
    for (const state of ['paused', 'active', 'ended']) {
      expect((await ada.submit(`${path}/state`, { state, reason: 'Holiday' })).status, state).toBe(303);
    }
    expect((await ada.submit(`${path}/state`, { state: 'active', reason: 'Again' })).status).toBe(400);
    const ended = await (await ada.get(path)).text();
    expect(ended).toMatch(/Ended by Ada Brandt on .* Holiday/);
    const readings = async () =>
      (await (await ada.get(`/records?patient=${patientPath.split('/')[2]}`)).text()).match(/Read a/g)
        ?.length;
    const before = await readings();
    await ada.post(`${patientPath}/prescribe/preview`, form);
    expect(await readings(), 'typing in an open page is no new reading').toBe(before);
    const records = await (await ada.get(`/records?patient=${patientPath.split('/')[2]}`)).text();
    for (const line of [
      'Patient added',
      'Version signed',
      'Program paused',
      'Program resumed',
      'Program ended',
    ]) {
      expect(records).toContain(line);
    }
  });

  it('outside its limits is answered with the place and not signed', async () => {
    const form = await formOf(await ada.submit(`${patientPath}/prescribe`, starter));
    const tooLong = { ...form, 'program.exercises.1.dose.holdSeconds': '60', reason: 'x', do: 'sign' };
    const response = await ada.post(`${patientPath}/prescribe`, tooLong);
    expect(response.status).toBe(400);
    expect(await response.text()).toContain('Straight head press, Hold (s)');
    const unheard = await ada.post(`${patientPath}/prescribe/preview`, { ...tooLong, do: 'hear' });
    const part = await unheard.text();
    expect([
      unheard.status,
      part.includes('Straight head press, Hold (s)'),
      part.includes('/audio/'),
    ]).toEqual([200, true, false]);
  });

  it('can be heard in any byte range, and only by her clinic', async () => {
    const form = await formOf(await ada.submit(`${patientPath}/prescribe`, starter));
    const only = Object.entries(form).filter(([name]) => !/^program\.exercises\.[1-9]/.test(name));
    const short = {
      ...Object.fromEntries(only),
      'program.exercises.0.dose.durationSeconds': '120',
      do: 'hear',
    };
    const page = await (await ada.post(`${patientPath}/prescribe`, short)).text();
    const address = /\/audio\/[0-9a-f]{64}\.mp3/.exec(page.replaceAll('&#x2F;', '/'))?.[0] ?? '';
    const whole = await ada.get(address);
    const bytes = Buffer.from(await whole.arrayBuffer());
    expect([whole.status, whole.headers.get('content-type')]).toEqual([200, 'audio/mpeg']);
    const ranges: [string, number, number][] = [
      ['bytes=0-0', 0, 1],
      ['bytes=1000-1999', 1000, 2000],
      ['bytes=-500', bytes.length - 500, bytes.length],
      [`bytes=${bytes.length - 1}-`, bytes.length - 1, bytes.length],
    ];
    for (const [range, start, end] of ranges) {
      const part = await ada.get(address, { range });
      expect(part.status, range).toBe(206);
      expect(part.headers.get('content-range')).toBe(`bytes ${start}-${end - 1}/${bytes.length}`);
      expect(Buffer.from(await part.arrayBuffer()).equals(bytes.subarray(start, end)), range).toBe(true);
    }
    const beyond = await ada.get(address, { range: `bytes=${bytes.length}-` });
    expect([beyond.status, beyond.headers.get('content-range')]).toEqual([416, `bytes */${bytes.length}`]);
    expect((await eve.get(address)).status).toBe(404);
  });
});

describe('the service itself', () => {
  it('answers what it cannot read or find in plain words', async () => {
    expect((await ada.get('/nothing/here')).status).toBe(404);
    const large = await ada.post(`${patientPath}/prescribe`, { note: 'x'.repeat(400_000) });
    expect(large.status).toBe(413);
    expect(await large.text()).toContain('This is too large to send');
  });

  it('sends strict headers and lets nothing be kept', async () => {
    const { headers } = await ada.get(patientPath);
    const policy = headers.get('content-security-policy') ?? '';
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("script-src 'self'");
    expect(policy).not.toContain('unsafe');
    expect(headers.get('x-content-type-options')).toBe('nosniff');
    expect(headers.get('cache-control')).toBe('no-store');
    expect(headers.get('x-powered-by')).toBeNull();
    expect(headers.get('strict-transport-security'), 'not without https').toBeNull();
  });

  it('logs what it did, without anything about a person', () => {
    const log = clinic.logged.join('\n');
    expect(log).toContain('"route":"/patients/:id/prescribe"');
    for (const secret of [
      'Rosa',
      'Ada',
      'example.org',
      'Intruder',
      patientPath.slice(10),
      ada.cookie.slice(11),
    ]) {
      expect(log, secret).not.toContain(secret);
    }
  });

  it('refuses settings that cannot be', async () => {
    const start = (more: NodeJS.ProcessEnv) =>
      startService(
        { STILLCOUNT_DATA: join(clinic.folder, 'other'), STILLCOUNT_TEMPLATES: 'audio-templates', ...more },
        () => undefined,
      );
    await expect(start({ STILLCOUNT_PORT: 'eighty' })).rejects.toThrow('STILLCOUNT_PORT');
    await expect(start({ STILLCOUNT_CACHE_MEGABYTES: '1' })).rejects.toThrow('STILLCOUNT_CACHE_MEGABYTES');
    await expect(start({ STILLCOUNT_VOICE_COMMAND: '["my-voice"' })).rejects.toThrow(
      'STILLCOUNT_VOICE_COMMAND: The voice command is not a list',
    );
    await expect(start({ STILLCOUNT_HOST: '0.0.0.0' })).rejects.toThrow(
      'STILLCOUNT_HOST: other machines could reach the service without https',
    );
    expect(await readdir(clinic.folder), 'none of them begins anything').not.toContain('other');
    await expect(start({ STILLCOUNT_PORT: new URL(clinic.service.address).port })).rejects.toThrow(
      'another program uses this port',
    );
    // Kept for documentation: no machine has it (RFC 5737).
    await expect(
      start({ STILLCOUNT_PORT: '0', STILLCOUNT_HOST: '192.0.2.1', STILLCOUNT_HTTPS: 'yes' }),
    ).rejects.toThrow('STILLCOUNT_HOST');
    await expect(start({ STILLCOUNT_DATA: clinic.folder })).rejects.toThrow('another Stillcount service');
  });
});
