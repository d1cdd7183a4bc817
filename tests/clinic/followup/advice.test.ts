import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../../src/listening/plan.js';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import {
  addPerson,
  giveLink,
  linkForAnotherClinic,
  openClinicWithPerson,
  owner,
  person,
  screen,
  signShortProgram,
  type TestClinic,
  Visitor,
} from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf } from '../../support/listener.js';
import { read } from '../../support/remindersClinic.js';

const { zone } = owner;
const eveAccount = { ...owner, email: 'eve@example.org' };
const benAccount = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
let clinic: TestClinic;
let ada: Visitor;
let eve: Visitor;
/** A colleague who may read and no more. */
let ben: Visitor;
let today: string;

/** Somebody with five ankle pumps, half of the dose with which they usually begin. */
type Patient = { path: string; program: string; link: string };
const patients: Record<'rosa' | 'emil' | 'lena' | 'otto' | 'nora' | 'ilse', Patient> = {
  rosa: { path: '', program: '', link: '' },
  emil: { path: '', program: '', link: '' },
  lena: { path: '', program: '', link: '' },
  otto: { path: '', program: '', link: '' },
  nora: { path: '', program: '', link: '' },
  ilse: { path: '', program: '', link: '' },
};

beforeAll(async () => {
  let patientPath: string;
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
  eve = new Visitor(() => clinic.service.address);
  await eve.post(new URL(await linkForAnotherClinic(clinic)).pathname, eveAccount);
  const invited = await (await ada.submit('/colleagues', { role: 'read-only' })).text();
  ben = new Visitor(() => clinic.service.address);
  await ben.post(`/${/join\/[\w-]{43}/.exec(invited.replaceAll('&#x2F;', '/'))?.[0]}`, benAccount);
  for (const [name, patient] of Object.entries(patients)) {
    patient.path = name === 'rosa' ? patientPath : await addPerson(ada, { ...person, name });
    if (name !== 'rosa') await screen(ada, patient.path, []);
    patient.program = await signShortProgram(ada, patient.path);
    patient.link = (await giveLink(ada, patient.path)).path;
  }
  const first = isoDayIn(Date.now(), zone);
  today = addDays(first, 11);
  clinic.clock.aheadMs = wallClockInstant(today, '06:00', zone) - Date.now();
  await ada.post('/sign-in', owner);
  await eve.post('/sign-in', eveAccount);
  await ben.post('/sign-in', benAccount);
});
afterAll(() => clinic.remove());

const nowMs = () => Date.now() + clinic.clock.aheadMs;
const well = { done: 'all', painBefore: 2, painAfter: 2, effort: 3, signs: [] };

/** Tells of a session on each of some days, counted back from today, heard to its end. */
async function tell(
  { path, program, link }: Patient,
  daysBack: readonly number[],
  answers: object = well,
): Promise<void> {
  const items = daysBack.flatMap((back) => {
    const day = addDays(today, -back);
    const place = { patientId: idOf(path), prescriptionId: idOf(program), versionNumber: 1 };
    const about = { ...place, sessionNumber: 1, slot: `${day}#1`, listeningId: randomUUID() };
    const atMs = wallClockInstant(day, '09:00', zone);
    const step = { kind: 'step', ...about };
    return [
      { ...step, id: randomUUID(), step: 'started', positionMs: 0, atMs },
      { ...step, id: randomUUID(), step: 'finished', positionMs: 200_000, atMs: atMs + 200_000 },
      { kind: 'check-in', id: randomUUID(), ...about, answers, atMs: atMs + 300_000 },
    ];
  });
  const answer = await fetch(new URL(`${link}report`, clinic.service.address), {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ sentAtMs: nowMs(), items }),
  });
  expect(await answer.json()).toMatchObject({ refused: [] });
}

const tenMornings = [10, 9, 8, 7, 6, 5, 4, 3, 2, 1];

/** The hidden fields of the form with a button on a page of advice, as the page has them. */
async function formWith(button: string, { path }: Patient): Promise<Record<string, string>> {
  const page = (await (await ada.get(`${path}/advice`)).text()).replaceAll('&quot;', '"');
  const form = [...page.matchAll(/<form [^>]*\/advice" class="stack">(.*?)<\/form>/gs)]
    .map(([, content = '']) => content)
    .find((content) => content.includes(`value="${button}"`));
  if (form === undefined) throw new Error(`no form with ${button}: ${page}`);
  const fields = [...form.matchAll(/name="([^"]+)" value="(.*?)"(?=>| required)/g)];
  const unescaped = (text: string) =>
    text.replaceAll('&#x2F;', '/').replaceAll('&#39;', "'").replaceAll('&#x3D;', '=');
  return Object.fromEntries(fields.map(([, name = '', value = '']) => [name, unescaped(value)]));
}

const answer = async (patient: Patient, button: string, more: Record<string, string> = {}) =>
  ada.post(`${patient.path}/advice`, { ...(await formWith(button, patient)), do: button, ...more });

describe('the page of advice', () => {
  it('says what will appear while there is nothing, and asks for nothing', async () => {
    const { path } = patients.rosa;
    const page = await read(ada.get(`${path}/advice`));
    expect(page).toContain('Short program');
    expect(page, 'nobody has begun for ten days').toContain(
      'Review. No session has been started for several days.',
    );
    expect(page).not.toContain('Sign this step');
    const empty = await addPerson(ada, { ...person, name: 'Nobody' });
    expect(await read(ada.get(`${empty}/advice`))).toContain('Advice appears here once');
  });

  it('shows the rule in words, every number, a picture with its table, and before and after', async () => {
    const { rosa } = patients;
    await tell(rosa, tenMornings);
    const html = await (await ada.get(`${rosa.path}/advice`)).text();
    expect(html).toMatch(/<svg[^>]*role="img"/);
    const page = await read(ada.get(`${rosa.path}/advice`));
    expect(page).toContain('Ankle pumps: Step up');
    expect(page).toContain('All repetitions completed in three sessions in a row');
    expect(page).toContain('Next step: the starting dose');
    expect(page).toMatch(/Ankle pumps: repetitions 10 \(was 5\)/);
    expect(page).toMatch(/Highest effort \(0 to 10\) .*3 at most 4 yes/);
    expect(page).toContain('B3E, a trial of home exercise after vertebral fracture');
    expect((await formWith('accept', rosa)).reason).toMatch(
      /^Ankle pumps: repetitions 5 → 10\. \d+% of 1\d sessions done;/,
    );
    expect(await read(ada.get(`${rosa.path}/follow-up`))).toContain(
      'Ankle pumps: Step up, repetitions 5 → 10',
    );
  });

  it('says of an exercise that stays what does not hold yet, and only that', async () => {
    const { ilse } = patients;
    await tell(ilse, tenMornings, { ...well, done: 'most' });
    const html = await (await ada.get(`${ilse.path}/advice`)).text();
    const missing = [...html.matchAll(/<li>([^<]*\(target[^<]*)<\/li>/g)].map(([, words]) => words);
    expect(missing).toEqual(['Recent sessions done in full: 0 of 4 (target: all)']);
  });

  it('lets who may only read look, and nobody of another clinic find anything', async () => {
    const { path } = patients.rosa;
    const page = await read(ben.get(`${path}/advice`));
    expect(page).toContain('Ankle pumps: Step up');
    expect(page).not.toContain('Sign this step');
    const named = await formWith('accept', patients.rosa);
    expect(
      (await ben.submit(`${path}/advice`, { ...named, formToken: await ben.formToken(), do: 'accept' }))
        .status,
    ).toBe(403);
    expect((await eve.get(`${path}/advice`)).status).toBe(404);
    const foreign = { ...named, formToken: await eve.formToken(), do: 'accept' };
    expect((await eve.submit(`${path}/advice`, foreign)).status).toBe(404);
    const withoutToken = { ...named, formToken: 'none', do: 'accept' };
    expect((await ada.post(`${path}/advice`, withoutToken)).status).toBe(400);
    expect(await read(ada.get(patients.rosa.program))).not.toContain('Version 2');
  });
});

describe('advice that is declined', () => {
  it('needs a reason, keeps what was typed, and is not asked again', async () => {
    const { emil } = patients;
    await tell(emil, tenMornings);
    const refused = await answer(emil, 'decline', { reason: '  ' });
    expect(refused.status).toBe(400);
    expect(await read(Promise.resolve(refused))).toContain('reason: enter something here');
    expect((await answer(emil, 'decline', { reason: 'Travels next week, <later>' })).status).toBe(303);
    const page = await read(ada.get(`${emil.path}/advice`));
    expect(page).toMatch(/Declined by Ada Brandt on .*“Travels next week, &lt;later&gt;”/);
    expect(page).not.toContain('Sign this step');
    expect(page).toContain('Answered advice');
    expect(await read(ada.get(emil.program)), 'nothing was signed').not.toContain('Version 2');
  });
});

describe('advice that is accepted', () => {
  it('signs the next version with exactly that dose, once, and it is what is listened to next', async () => {
    const { rosa } = patients;
    const form = { ...(await formWith('accept', rosa)), do: 'accept', reason: 'Ready for more, she says' };
    const [one, other] = await Promise.all([1, 2].map(() => ada.post(`${rosa.path}/advice`, form)));
    expect(one?.headers.get('location')).toBe(rosa.program);
    expect(other?.headers.get('location'), 'a second click').toBe(rosa.program);
    expect((await ada.post(`${rosa.path}/advice`, form)).headers.get('location'), 'much later').toBe(
      rosa.program,
    );
    const program = await read(ada.get(rosa.program));
    expect(program).toMatch(
      /Version 2 Signed by Ada Brandt on .* Ready for more, she says Ankle pumps: repetitions 10 \(was 5\)/,
    );
    expect(program, 'and nothing else').not.toContain('Version 3');
    const page = await read(ada.get(`${rosa.path}/advice`));
    expect(page).toContain('Accepted: Ankle pumps, Step up. Short program, version 1 → 2.');
    expect(page.match(/Accepted: /g)).toHaveLength(1);
    const plan: Plan = JSON.parse(
      await (await fetch(new URL(`${rosa.link}plan.json`, clinic.service.address))).text(),
    );
    expect(plan.people[0]?.sessions.at(-1)?.versionNumber, 'what is listened to next').toBe(2);
    expect(await read(ada.get(`/records?patient=${idOf(rosa.path)}`))).toContain('Advice answered');
  });

  it('signs nothing when it is not what is advised, or without a reason', async () => {
    const { lena } = patients;
    await tell(lena, tenMornings);
    const named = await formWith('accept', lena);
    const form = { ...named, do: 'accept' };
    const other = { ...form, key: (named.key ?? '').replace('step-up', 'step-down') };
    expect((await ada.post(`${lena.path}/advice`, other)).status).toBe(400);
    expect((await ada.post(`${lena.path}/advice`, { ...form, exerciseIndex: '7' })).status).toBe(400);
    expect((await ada.post(`${lena.path}/advice`, { ...form, reason: '' })).status).toBe(400);
    const notPrecautions = await read(ada.post(`${lena.path}/advice`, { ...form, reason: '' }));
    expect(notPrecautions).toContain('enter one sentence for the record');
    expect(await read(ada.get(lena.program))).not.toContain('Version 2');
  });

  it('passes everything that signing asks: an open precaution stands against it, in plain words', async () => {
    const { lena } = patients;
    await screen(ada, lena.path, ['osteoporosis']);
    const refused = await answer(lena, 'accept', { reason: 'She likes it & wants more' });
    expect(refused.status).toBe(400);
    const page = await refused.text();
    expect(page, 'what was typed is kept').toContain('value="She likes it &amp; wants more"');
    expect(page).toContain('not resolved yet');
    expect(page.replaceAll('&#x2F;', '/')).toContain(`href="${lena.program}/change">Open program`);
    await screen(ada, lena.path, []);
    expect(await read(ada.get(lena.program))).not.toContain('Version 2');
  });
});

describe('advice that is changed by hand', () => {
  it('becomes unsigned work, never takes the place of other work, and what she signs wins over older pages', async () => {
    const { otto } = patients;
    await tell(otto, tenMornings);
    const accept = { ...(await formWith('accept', otto)), do: 'accept' };
    const edited = await answer(otto, 'edit');
    expect(edited.headers.get('location')).toBe(`${otto.program}/change`);
    const work = await (await ada.get(`${otto.program}/change`)).text();
    expect(work).toMatch(/name="program\.exercises\.0\.dose\.reps" value="10"/);
    const page = await read(ada.get(`${otto.path}/advice`));
    expect(page).toContain('Opened for changes by Ada Brandt');
    expect(page, 'it is asked until a version comes of it').toContain('Sign this step');
    for (const button of ['accept', 'edit']) {
      const refused = await answer(otto, button);
      expect(refused.status).toBe(400);
      expect(await read(Promise.resolve(refused))).toContain('you have a draft of this program');
    }
    expect(await read(ada.get(otto.program))).not.toContain('Version 2');
    const unsigned = await formOf(await ada.get(`${otto.program}/change`));
    const own = { ...unsigned, 'program.exercises.0.dose.reps': '8', reason: 'Eight first', do: 'sign' };
    expect((await ada.post(`${otto.program}/change`, own)).status).toBe(303);
    const late = await ada.post(`${otto.path}/advice`, accept);
    expect(late.status, 'a page from before that version').toBe(400);
    expect(await read(Promise.resolve(late))).toContain('this advice is out of date');
    const program = await read(ada.get(otto.program));
    expect(program).toContain('repetitions 8 (was 5)');
    expect(program).not.toContain('Version 3');
  });
});

describe('a warning sign', () => {
  it('turns every advice into a review, which she answers with what she found', async () => {
    const { lena } = patients;
    const accept = { ...(await formWith('accept', lena)), do: 'accept' };
    await tell(lena, [0], { ...well, signs: ['dizziness'] });
    const page = await read(ada.get(`${lena.path}/advice`));
    expect(page).toContain('Review. A warning sign was reported and has not been answered yet.');
    expect(page).not.toContain('Sign this step');
    expect((await ada.post(`${lena.path}/advice`, accept)).status, 'from a page of before').toBe(400);
    expect(await read(ada.get(lena.program))).not.toContain('Version 2');
    expect((await answer(lena, 'looked-at', { reason: 'Called her, she rests' })).status).toBe(303);
    expect(await read(ada.get(`${lena.path}/advice`))).toContain('“Called her, she rests”');
  });
});

describe('advice that asks for less, or for a look', () => {
  it('stands on the first page and in the view of the clinic until it is answered', async () => {
    const { nora } = patients;
    const home = () => read(ada.get('/'));
    const waits = /nora: Advice on the program is waiting/;
    expect(await home()).not.toMatch(waits);
    // 7 of 10 or more after sessions, twice: common practice, no published source.
    await tell(nora, tenMornings, { ...well, painBefore: 7, painAfter: 8 });
    await expect.poll(home, { timeout: 120_000, interval: 500 }).toMatch(waits);
    expect(await read(ada.get('/clinic-view'))).toMatch(/nora .*Advice: Review/);
    expect((await answer(nora, 'looked-at', { reason: 'Spoke with her, eases with rest' })).status).toBe(303);
    await expect.poll(home, { timeout: 120_000, interval: 500 }).not.toMatch(waits);
  });

  it('stands there too for somebody of whom nothing was ever told', async () => {
    const path = await addPerson(ada, { ...person, name: 'karla' });
    await screen(ada, path, []);
    await signShortProgram(ada, path);
    clinic.clock.aheadMs += 5 * 86_400_000;
    await ada.post('/sign-in', owner);
    expect(await read(ada.get(`${path}/advice`))).toContain('Review.');
    const home = () => read(ada.get('/'));
    await expect
      .poll(home, { timeout: 120_000, interval: 500 })
      .toMatch(/karla: Advice on the program is waiting/);
  });
});
