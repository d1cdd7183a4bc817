import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStore } from '../../../src/store/engine/openStore.js';
import { versionsOf } from '../../../src/store/people/chart.js';
import { signVersion } from '../../../src/store/prescribing/prescriptions.js';
import { readCalendar } from '../../documents/calendarReader.js';
import { owner, signShortProgram, type TestClinic, type Visitor } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf, ListeningClinic } from '../../support/listener.js';
import { read } from '../../support/remindersClinic.js';

/**
 * A database from before a program was a path: its newest version has somebody slide the heel, lying down, after
 * getting out of bed. It is planted past the pages, as an earlier version of the service would have kept it.
 */

const impossible = [{ exercise: 'ankle-pumps' }, { exercise: 'out-of-bed' }, { exercise: 'heel-slide' }];
const wrong =
  '“Heel slide” starts lying on the back, after “Getting out of bed” has led the listener out of lying; ' +
  'found place 3, standing; allowed: a place before “Getting out of bed”, at most place 2';
const clinicPhone = '0100 555 00';

let at: ListeningClinic;
let ada: Visitor;
let calendar: string;
const programId = () => at.programPath.split('/')[2] ?? '';

beforeAll(async () => {
  at = await ListeningClinic.open();
  ({ ada } = at);
  await ada.submit('/colleagues/contact', { phone: clinicPhone, emergencyNumber: '112' });
  const given: { address: string } = JSON.parse(
    await (await at.guest().post(`${at.rosaLink}calendar`, {})).text(),
  );
  calendar = given.address;
  await plant(at.clinic, programId(), impossible);
});
afterAll(() => at.clinic.remove());

/** Keeps a further version as it was let through before, with the service stopped; then starts it anew. */
async function plant(clinic: TestClinic, prescriptionId: string, exercises: object[]): Promise<void> {
  await clinic.service.stop();
  const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'clinic.db') });
  await store.write(async (db) => {
    const [newest] = await versionsOf(db, prescriptionId);
    if (newest?.content == null) throw new RangeError('it was signed before');
    const content: { program: object } = JSON.parse(newest.content);
    const { screeningId } = await db
      .selectFrom('prescriptionVersion')
      .select('screeningId')
      .where('prescriptionId', '=', prescriptionId)
      .where('number', '=', newest.number)
      .executeTakeFirstOrThrow();
    await signVersion(db, prescriptionId, newest.number, {
      title: 'Short program',
      content: JSON.stringify({ ...content, program: { ...content.program, exercises } }),
      screeningId,
      reason: 'As it was let through before',
      signedBy: newest.signedBy,
      nowMs: Date.now(),
    });
  });
  await store.close();
  await clinic.restart();
}

const page = (path: string) => read(ada.get(path));

describe('a stored program in an impossible order', () => {
  it('stands on the first page with what is wrong and where to mend it', async () => {
    await expect.poll(() => page('/'), { timeout: 60_000 }).toContain(wrong);
    const home = (await (await ada.get('/')).text()).replaceAll('&#x2F;', '/');
    expect(home).toContain(`<a href="${at.programPath}" aria-label="Review the program: Rosa Lind">`);
    expect(await page('/')).toContain(
      'Program cannot be played, and the listener gets no sessions: Heel slide',
    );
  });

  it('opens on every page that reads it, and says what is wrong where the program is', async () => {
    for (const path of [at.rosaPath, at.programPath, `${at.programPath}/change`]) {
      expect((await ada.get(path)).status, path).toBe(200);
      expect(await page(path), path).toContain(wrong);
    }
    const others = [
      'heard',
      'follow-up',
      'advice',
      'papers',
      'reminders',
      'measures',
      'record',
      'screening/all/review',
    ];
    const addresses = [
      ...others.map((name) => `${at.rosaPath}/${name}`),
      ...['bundle.json', 'all.zip', 'csv/exercises'].map((name) => `${at.rosaPath}/record/${name}`),
      ...['/clinic-view', '/programs', `/records?patient=${at.rosaPath.split('/')[2]}`],
    ];
    for (const path of addresses) {
      const { status } = await ada.get(path);
      if (path.endsWith('csv/exercises') && status === 404) continue;
      expect(status, path).toBe(200);
    }
    expect(await page(`${at.rosaPath}/reminders`)).toContain(
      'Nothing is sent for a program that cannot be played as it was signed.',
    );
    expect(await page(`${at.rosaPath}/advice`)).toContain('cannot be played as it was signed');
    const description = await ada.submit(`${at.rosaPath}/papers/description`, {
      program: programId(),
      as: 'text',
    });
    expect([description.status, await description.text()]).toEqual([
      200,
      expect.stringContaining('Heel slide'),
    ]);
  });

  it('says the same over the API', async () => {
    const given = await ada.submit('/account/keys', { name: 'Records', password: owner.password });
    const key = /<strong class="long">([\w-]{43})<\/strong>/.exec(await given.text())?.[1];
    const headers = { authorization: `Bearer ${key}` };
    const answer = await at.guest().get(`/api/v1/prescriptions/${programId()}`, headers);
    expect(await answer.json()).toMatchObject({
      state: 'active',
      problems: [
        {
          path: 'exercises[2].exercise',
          found: 'place 3, standing',
          allowed: 'a place before “Getting out of bed”, at most place 2',
        },
      ],
    });
    const attention = await at.guest().get('/api/v1/attention', headers);
    expect(await attention.json()).toMatchObject({ first: [{ kind: 'not-playable', subject: programId() }] });
    const fhir = await at.guest().get(`/api/v1/people/${at.rosaPath.split('/')[2]}/fhir`, headers);
    expect(fhir.status).toBe(200);
  });

  it('is not printed to be taken home, kept for others, or signed again as it is', async () => {
    const handout = await ada.get(`${at.rosaPath}/papers/handout?program=${programId()}`);
    expect(handout.status).toBe(400);
    expect(await read(Promise.resolve(handout))).toContain('do not give out its handout');
    expect((await ada.submit(`${at.programPath}/keep`, { title: 'Ours' })).status).toBe(400);
    const form = await formOf(await ada.get(`${at.programPath}/change`));
    const again = await ada.post(`${at.programPath}/change`, { ...form, reason: 'Again', do: 'sign' });
    expect(again.status).toBe(400);
    const refused = await read(Promise.resolve(again));
    expect(refused).toContain('Not signed yet; your draft is kept.');
    expect(refused.split(wrong).length - 1, 'on top, beside the session, and at the exercise').toBe(3);
    await ada.post(`${at.programPath}/change`, { ...form, do: 'discard' });
  });

  it('plays nothing: the listening page says that the clinic checks it, and whom to call', async () => {
    const plan = await at.planOf(at.rosaLink);
    expect(plan.people[0]).toMatchObject({ isBeingChecked: true, isHeld: false, sessions: [] });
    const said = await at.guest().get(`${at.rosaLink}prompts/${idOf(at.rosaPath)}/welcome.mp3`);
    expect(said.status, 'what is to be heard in need').toBe(200);
    const listening = await read(at.guest().get(at.rosaLink));
    expect(listening).toContain('Quillmere is checking the program.');
    expect(listening).toContain(clinicPhone);
    expect(listening, 'also without scripts').toContain(
      'Do not do these exercises until they have called you',
    );
    for (const name of [
      'session.mp3',
      'session.json',
      'session.txt',
      'session.html',
      '../../2-lighter/1/session.mp3',
    ]) {
      const address = `${at.rosaLink}sessions/${programId()}/2/1/${name}`;
      expect((await at.guest().get(address)).status, name).toBeGreaterThanOrEqual(404);
    }
    const events = readCalendar(await (await at.guest().get(calendar)).text()).events;
    const coming = events.filter(({ startsAtMs }) => startsAtMs > Date.now());
    expect(coming.length).toBeGreaterThan(0);
    expect([...new Set(coming.map(({ status }) => status))]).toEqual(['CANCELLED']);
  });

  it('cannot be resumed after a pause, and leaves the first page as soon as a right version is signed', async () => {
    const state = (to: string) =>
      ada.submit(`${at.programPath}/state`, { state: to, reason: 'Looked at it' });
    expect((await state('paused')).status).toBe(303);
    expect(await page('/')).not.toContain('Program cannot be played');
    expect(await page(at.programPath)).toContain('Edit it and sign a new version before you resume it.');
    expect(await page(at.programPath)).not.toContain('Resume program');
    const resumed = await state('active');
    expect(resumed.status).toBe(400);
    expect(await read(Promise.resolve(resumed))).toContain('sign a new version first, then resume');
    const form = await formOf(await ada.get(`${at.programPath}/change`));
    const moved = await formOf(await ada.post(`${at.programPath}/change`, { ...form, do: 'up:2' }));
    const signed = { ...moved, reason: 'In the right order', do: 'sign' };
    expect((await ada.post(`${at.programPath}/change`, signed)).status).toBe(303);
    expect((await state('active')).status).toBe(303);
    expect(await page('/')).not.toContain('Program cannot be played');
    expect((await at.planOf(at.rosaLink)).people[0]).not.toHaveProperty('isBeingChecked');
    expect(await page(at.programPath)).toContain(
      'Order: Ankle pumps, Heel slide, Getting out of bed (was Ankle pumps, Getting out of bed, Heel slide)',
    );
  });

  it('that ran is let go of when its next version is signed while it runs', async () => {
    await plant(at.clinic, programId(), impossible);
    await ada.post('/sign-in', owner);
    await expect.poll(() => page('/'), { timeout: 60_000 }).toContain(wrong);
    const foundAtMs = Date.now() + at.clinic.clock.aheadMs;
    at.clinic.clock.aheadMs += 3 * 24 * 60 * 60_000;
    await ada.post('/sign-in', owner);
    const form = await formOf(await ada.get(`${at.programPath}/change`));
    const left = await formOf(await ada.post(`${at.programPath}/change`, { ...form, do: 'remove:2' }));
    const signed = { ...left, reason: 'Without it', do: 'sign' };
    expect((await ada.post(`${at.programPath}/change`, signed)).status).toBe(303);
    expect(await page('/')).not.toContain('Program cannot be played');
    const [person] = (await at.planOf(at.rosaLink)).people;
    expect(person?.sessions.length).toBeGreaterThan(0);
    // What fell due meanwhile is held against nobody, on any page.
    const signedAtMs = Date.now() + at.clinic.clock.aheadMs;
    const rows = (await (await ada.get(`${at.rosaPath}/record/csv/sessions`)).text())
      .split('\r\n')
      .map((row) => row.slice(1, -1).split('","'));
    const [head = [], ...sessions] = rows;
    const meanwhile = sessions.filter((row) => {
      const dueAtMs = Date.parse(row[head.indexOf('dueAt')] ?? '');
      return dueAtMs > foundAtMs && dueAtMs < signedAtMs;
    });
    expect(meanwhile.length).toBeGreaterThan(1);
    expect(new Set(meanwhile.map((row) => row[head.indexOf('outcome')]))).toEqual(new Set(['excused']));
    expect(await page(`${at.rosaPath}/follow-up`)).toMatch(/missed 0, excused [1-9]/);
  });
});

describe('the order of a program in the form', () => {
  const orderOf = (form: Record<string, string>) =>
    Object.keys(form)
      .filter((name) => /^program\.exercises\.\d+\.exercise$/.test(name))
      .map((name) => form[name]);

  it('adds before the way out of bed, what leads out at the end, and what leads down first', async () => {
    const path = `${at.rosaPath}/prescribe`;
    let form = await formOf(await ada.submit(path, { do: 'add:head-press' }));
    for (const id of ['out-of-bed', 'heel-slide', 'into-bed', 'arm-slides'])
      form = await formOf(await ada.post(path, { ...form, do: `add:${id}` }));
    expect(orderOf(form)).toEqual(['into-bed', 'head-press', 'heel-slide', 'arm-slides', 'out-of-bed']);
  });

  it('may be impossible while it is worked on; the preview says so at that exercise at once', async () => {
    const path = `${at.rosaPath}/prescribe`;
    const form = await formOf(await ada.get(path));
    const moved = await ada.post(`${path}/preview`, { ...form, do: 'down:3' });
    const { part }: { part: string } = JSON.parse(await moved.text());
    const words = part.replaceAll('&#x2F;', '/');
    const row = words.slice(
      words.indexOf('id="wrong-4"'),
      words.indexOf('name="program.exercises.4.exercise"'),
    );
    expect(row).toContain('“Arm slides along the bed” starts lying on the back');
    expect(words).toContain('Draft saved, but not ready to sign.');
    await ada.post(path, { ...form, do: 'discard' });
  });
});

describe('the time for position changes', () => {
  const lying = 'program.changeTimes.lyingDownSeconds';

  it('is set in the form, refused out of its range at the field, carried on and compared', async () => {
    const path = await signShortProgram(ada, at.rosaPath);
    const form = await formOf(await ada.get(`${path}/change`));
    expect(form[lying], 'a careful default').toBe('40');
    const change = await page(`${path}/change`);
    expect(change).toContain('Time for position changes, as timed at the visit');
    expect(change).toContain('Lying down from standing (s) 10 to 180, usually 40');
    const short = await ada.post(`${path}/change/preview`, { ...form, [lying]: '3', do: 'update' });
    const { part }: { part: string } = JSON.parse(await short.text());
    const field = part.slice(part.indexOf('id="wrong-lyingDownSeconds"')).split('</span>')[0];
    expect(field).toContain('too small; found 3; allowed: at least 10');
    const refused = await ada.post(`${path}/change`, { ...form, [lying]: '3', reason: 'Fast', do: 'sign' });
    expect(await read(Promise.resolve(refused))).toContain(
      'Lying down from standing (s): too small; found 3; allowed: at least 10',
    );
    const slow = { ...form, [lying]: '75', reason: 'Timed at the visit', do: 'sign' };
    expect((await ada.post(`${path}/change`, slow)).status).toBe(303);
    const program = await page(path);
    expect(program).toContain('Time for position changes: lying down from standing 1 min 15 s;');
    expect(program).toContain('Time for position changes: lying down from standing 1 min 15 s (was 40 s)');
    expect((await formOf(await ada.get(`${path}/change`)))[lying], 'carried to the next version').toBe('75');
    await ada.submit(`${path}/keep`, { title: 'For others' });
    const own = (await (await ada.get(`${at.rosaPath}/prescribe`)).text()).match(
      /<option value="([\w-]{36})">For others/,
    )?.[1];
    const begun = await ada.submit(`${at.rosaPath}/prescribe`, { starter: own ?? '', do: 'starter' });
    expect((await formOf(begun))[lying], 'it is this person’s and nobody else’s').toBe('40');
  });
});
