import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { dateInWords, isoDay } from '../../../src/text/dates.js';
import {
  addPerson,
  openClinicWithPerson,
  owner,
  person,
  screen,
  type TestClinic,
  type Visitor,
} from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';

let clinic: TestClinic;
let ada: Visitor;

beforeAll(async () => {
  ({ clinic, ada } = await openClinicWithPerson());
});
afterAll(() => clinic.remove());

/** Lately, whenever this runs: what was cleared long ago no longer counts. */
const clearedOn = isoDay(Date.now() - 20 * 86_400_000, 'UTC');

const text = async (response: Response) => (await response.text()).replaceAll('&#39;', '’');
const newPerson = (name: string) => addPerson(ada, { ...person, name });
const begin = async (path: string, starter = 'first') =>
  formOf(await ada.submit(`${path}/prescribe`, { starter, do: 'starter' }));
/** Settles everything that a form asks to be settled: cleared, or done as the rule says. */
const settledAll = (form: Record<string, string>, except: readonly string[] = []) =>
  Object.fromEntries(
    Object.keys(form).flatMap((name): [string, string][] => {
      const rule = /^settlements\.([\w-]+)\.exercises$/.exec(name)?.[1];
      if (rule === undefined || except.includes(rule)) return [];
      const at = `settlements.${rule}`;
      return form[`${at}.clearedBy`] === undefined
        ? [[`${at}.isArranged`, 'yes']]
        : [
            [`${at}.clearedBy`, 'Heart clinic'],
            [`${at}.clearedOn`, clearedOn],
          ];
    }),
  );
const sign = (path: string, form: Record<string, string>) =>
  ada.post(`${path}/prescribe`, { ...form, reason: 'A start', do: 'sign' });

describe('a screening', () => {
  it('asks one body system at a time, what cannot wait first, and keeps what was given', async () => {
    const path = await newPerson('Mira Open');
    const first = (await ada.get(`${path}/screening`)).headers.get('location') ?? '';
    expect(first).toBe(`${path}/screening/all/right-now`);
    const page = await text(await ada.get(first));
    const asked = page.match(/data-ask-alone/g)?.length ?? 0;
    expect(asked, 'what cannot wait is asked by itself').toBe(page.match(/<fieldset/g)?.length);
    expect(asked).toBeGreaterThan(15);
    expect(page).toContain('aria-current="step"');
    const bones = `${path}/screening/all/bones`;
    const half = { 'answers.osteoporosis.answer': 'yes', 'answers.osteoporosis.details': 'Hip T −2.8' };
    const refused = await ada.submit(bones, half);
    expect(refused.status).toBe(400);
    const again = await text(refused);
    expect(again).toContain('Steroid tablets: answer this question');
    expect(again).not.toContain('Osteoporosis or Paget’s disease: answer this question');
    expect(again).toContain('value="Hip T −2.8"');
    const filled = await text(await ada.submit(bones, { ...half, do: 'rest-no' }));
    expect(filled.match(/value="yes" checked/g)).toHaveLength(1);
    expect(filled.match(/value="no" checked/g)).toHaveLength((filled.match(/<fieldset/g)?.length ?? 0) - 1);
    const on = await ada.submit(bones, { ...half, do: 'later' });
    expect(on.headers.get('location')).toBe(path);
    expect(await text(await ada.get('/')), 'left half way').toContain('Screening of Mira Open');
    expect(await text(await ada.get(bones))).toContain('value="Hip T −2.8"');
    expect((await ada.get(`${path}/screening/all/horoscope`)).status).toBe(404);
    expect((await ada.get(`${path}/screening/some`)).status).toBe(404);
    const early = await ada.submit(`${path}/screening/all/review`, {});
    expect(early.status).toBe(400);
    expect(await text(early)).toContain(
      'Chest pain, or pain when hurrying, in the last seven days: answer this question',
    );
    expect(await text(await ada.get(path)), 'nothing was saved').toContain('Not screened yet');
    clinic.clock.aheadMs += 25 * 3_600_000;
    await ada.post('/sign-in', { email: owner.email, password: owner.password });
    expect(await text(await ada.get(bones)), 'not taken for said today').not.toContain('Hip T −2.8');
  });

  it('answers several questions at once only when pressed, says which, and takes it back', async () => {
    const path = await newPerson('Gerda Group');
    const spine = `${path}/screening/all/spine`;
    const open = await text(await ada.get(spine));
    const all = open.match(/<fieldset/g)?.length ?? 0;
    const alone = open.match(/data-ask-alone/g)?.length ?? 0;
    expect(open).toContain(`<strong data-left>${all}</strong> left`);
    expect(open, 'the Enter key presses the first button').toMatch(
      /<form method="post" class="stack" data-interview>(?:(?!<button).)*<button(?:(?!name="do").)*?>Save and continue/s,
    );
    const pressed = await text(await ada.submit(spine, { 'answers.neck-pain.answer': 'yes', do: 'rest-no' }));
    expect(pressed).toContain(
      `Answered No to <strong>${all - alone - 1} questions</strong> that had no answer`,
    );
    expect(pressed).toMatch(/that had no answer: [^<]*Earlier spinal fracture; /);
    expect(pressed).toMatch(/Still to ask separately: Spinal fracture in the last six months; /);
    expect(pressed.match(/value="no" checked/g)).toHaveLength(all - alone - 1);
    expect(pressed).toContain(`<strong data-left>${alone}</strong> left`);
    const changed = {
      ...(await formOf(await ada.get(spine))),
      'answers.leg-pain.answer': 'yes',
      do: 'later',
    };
    await ada.post(spine, changed);
    const undone = await text(
      await ada.submit(spine, { ...(await formOf(await ada.get(spine))), do: 'undo' }),
    );
    expect(undone.match(/value="yes" checked/g), 'what was answered by itself stays').toHaveLength(2);
    expect(undone).not.toContain('value="no" checked');
    expect(undone).toContain(`<strong data-left>${all - 2}</strong> left`);
    expect(undone).not.toContain('Answered No to');
  });

  it('asks a second time for what may have changed, and whether the rest is still so', async () => {
    const path = await newPerson('Rita Again');
    await screen(ada, path, ['osteoporosis', 'bone-cancer'], 'T −2.8');
    const bones = `${path}/screening/all/bones`;
    const page = await text(await ada.get(bones));
    expect(page).not.toContain(' checked');
    const [anew = '', same = ''] = page.split('id="same-heading"');
    expect(same).toContain('name="answers.osteoporosis.answer"');
    expect(same).toMatch(/Last time: Yes, T −2\.8\. <strong>Unchanged\?/);
    for (const id of ['bone-cancer', 'other-fracture', 'hot-joint', 'movement-limited', 'arm-limited'])
      expect(anew, id).toContain(`name="answers.${id}.answer"`);
    const confirmed = await text(await ada.submit(bones, { do: 'still-so' }));
    expect(confirmed).toMatch(/Kept <strong>\d+ previous answers<\/strong> as unchanged: [^<]*Osteoporosis/);
    expect(confirmed.match(/value="yes" checked/g)).toHaveLength(1);
    expect(confirmed).toContain('value="T −2.8"');
    const undone = await text(
      await ada.submit(bones, { ...(await formOf(await ada.get(bones))), do: 'undo' }),
    );
    expect(undone).not.toContain(' checked');
    expect(undone).not.toContain('value="T −2.8"');
    const rest = await text(await ada.submit(bones, { do: 'rest-no' }));
    expect(rest.split('id="same-heading"')[1], 'No to the rest confirms nothing').not.toMatch(
      /<fieldset(?:(?!<\/fieldset>).)* checked/s,
    );
    clinic.clock.aheadMs += 91 * 86_400_000;
    await ada.post('/sign-in', { email: owner.email, password: owner.password });
    expect(await text(await ada.get(bones)), 'after so long all is asked anew').not.toContain('Unchanged?');
  });

  it('ends where something stops: it is saved as it is, and nothing else is asked for', async () => {
    const path = await newPerson('Nina Now');
    const first = `${path}/screening/all/right-now`;
    const sent = await ada.submit(first, { 'answers.cord-hands.answer': 'unsure' });
    const review = sent.headers.get('location') ?? '';
    expect(review).toBe(`${path}/screening/all/review`);
    expect(await text(await ada.get(review))).toContain('Stop here. Newly clumsy hands, or dropping things');
    expect((await ada.submit(review, {})).headers.get('location')).toBe(path);
    expect(await text(await ada.get(path))).toContain('Stop here. Newly clumsy hands, or dropping things');
    expect(await text(await ada.get('/'))).toContain(
      '<strong>Nina Now</strong>: Needs to see a doctor first',
    );
  });

  it('comes before signing, and the work done before it is kept', async () => {
    const path = await newPerson('Lena First');
    const form = await begin(path);
    const refused = await sign(path, form);
    expect(refused.status).toBe(400);
    expect(await text(refused)).toContain('this patient has not been screened yet');
    await screen(ada, path, []);
    expect((await sign(path, await formOf(await ada.get(`${path}/prescribe`)))).status).toBe(303);
  });

  it('shows each conflict where it arises and stands against signing until all are settled', async () => {
    const path = await newPerson('Olga Bend');
    await screen(ada, path, ['osteoporosis', 'spinal-fracture', 'old-spinal-fracture']);
    expect(await text(await ada.get(path))).toContain('Earlier spinal fracture');
    await begin(path);
    const added = await ada.post(`${path}/prescribe`, {
      ...(await formOf(await ada.get(`${path}/prescribe`))),
      do: 'add:knee-rolls',
    });
    const page = await text(added);
    expect(page).toContain('<strong>Leave out</strong> (Spinal fracture in the last six months)');
    const form = await formOf(await ada.get(`${path}/prescribe`));
    const refused = await sign(path, form);
    expect(refused.status).toBe(400);
    expect(await text(refused)).toContain('not resolved yet: Leave it out until the fracture has healed');

    const ruleIds = Object.keys(form).flatMap(
      (name) => /^settlements\.([\w-]+)\.exercises$/.exec(name)?.[1] ?? [],
    );
    expect(ruleIds).toContain('spinal-fracture-bending');
    const settled = Object.fromEntries(
      ruleIds.flatMap((rule) =>
        form[`settlements.${rule}.clearedBy`] === undefined
          ? rule === 'spinal-fracture-bending'
            ? []
            : [[`settlements.${rule}.isArranged`, 'yes']]
          : [
              [`settlements.${rule}.clearedBy`, 'Dr Fenn'],
              [`settlements.${rule}.clearedOn`, clearedOn],
            ],
      ),
    );
    const left = await ada.post(`${path}/prescribe`, { ...form, ...settled, do: 'leave-out:knee-rolls' });
    const without = await formOf(left);
    expect(Object.values(without)).not.toContain('knee-rolls');
    const signed = await sign(path, { ...without, ...settled });
    expect(signed.status).toBe(303);
    const record = await text(await ada.get(signed.headers.get('location') ?? ''));
    expect(record).toContain(`cleared by Dr Fenn on ${dateInWords(clearedOn)}`);
    expect(record).toContain('modified as advised');
  });

  it('settled for some exercises is open again for one that is added', async () => {
    const path = await newPerson('Nora Added');
    await screen(ada, path, ['implanted-device']);
    const form = await begin(path);
    const rule = 'settlements.implanted-device-reach';
    const cleared = settledAll(form);
    const more = await ada.post(`${path}/prescribe`, { ...form, ...cleared, do: 'add:stick-raise' });
    const grown = await formOf(more);
    expect(grown[`${rule}.exercises`], 'only what was settled').toBe('arm-reach');
    expect((await sign(path, grown)).status).toBe(400);
    expect((await sign(path, { ...grown, [`${rule}.also`]: 'yes' })).status).toBe(303);
  });

  it('that allows something only on a later day does not allow it yet', async () => {
    const path = await newPerson('Tess Early');
    await screen(ada, path, ['implanted-device']);
    const form = await begin(path);
    const rule = 'settlements.implanted-device-reach';
    const later = { ...settledAll(form), [`${rule}.clearedOn`]: '2999-01-01' };
    expect((await sign(path, { ...form, ...later })).status).toBe(400);
    const wrong = { ...later, [`${rule}.clearedOn`]: 'soon' };
    expect(await text(await sign(path, { ...form, ...wrong }))).toContain('a date such as 2026-11-25');
    const others = settledAll(form, ['implanted-device-reach']);
    const reason = { ...others, [`${rule}.reason`]: 'Fitted in 2009' };
    expect((await sign(path, { ...form, ...reason })).status).toBe(303);
  });
});

describe('a precaution that cannot wait', () => {
  it('pauses what runs, lets nothing be signed or resumed, whatever is written', async () => {
    const path = await newPerson('Vera Stops');
    await screen(ada, path, []);
    const program = (await sign(path, await begin(path))).headers.get('location') ?? '';
    await screen(ada, path, ['calf-signs']);
    expect(await text(await ada.get(path))).toContain(
      'Stop here. Swollen, hot or sore calf, leg or arm: See a doctor today',
    );
    const page = await text(await ada.get(program));
    expect(page).toMatch(/Paused by Ada Brandt on .* Swollen, hot or sore calf, leg or arm/);
    const form = await formOf(await ada.get(`${program}/change`));
    const reason = { 'settlements.calf-signs-first.reason': 'She wants to', reason: 'x', do: 'sign' };
    const refused = await ada.post(`${program}/change`, { ...form, ...reason });
    expect(refused.status).toBe(400);
    expect(await text(refused)).toContain('this rules out every program: See a doctor today');
    const resumed = await ada.submit(`${program}/state`, { state: 'active', reason: 'It is better' });
    expect(resumed.status).toBe(400);
    expect(await text(resumed)).toContain('precautions are still open');
    await screen(ada, path, []);
    expect((await ada.submit(`${program}/state`, { state: 'active', reason: 'Ruled out' })).status).toBe(303);
  });

  it('also pauses when all of a program needs clearance first, but not when it only needs changes', async () => {
    const path = await newPerson('Susi Waits');
    await screen(ada, path, []);
    const program = (await sign(path, await begin(path))).headers.get('location') ?? '';
    await screen(ada, path, ['fall-risk', 'osteoporosis']);
    expect(await text(await ada.get(program))).toContain('Active.');
    await screen(ada, path, ['spinal-fracture']);
    expect(await text(await ada.get(program))).toMatch(
      /Paused by Ada Brandt on .* Spinal fracture in the last six months/,
    );
  });

  it('settled for one answer is open again for another', async () => {
    const path = await newPerson('Uta Changes');
    await screen(ada, path, ['implanted-device']);
    const begun = await begin(path);
    const signed = await sign(path, { ...begun, ...settledAll(begun) });
    const program = signed.headers.get('location') ?? '';
    await screen(ada, path, ['implanted-device'], 'changed last week');
    expect(await text(await ada.get(program))).toContain('Open precautions for this program: 4');
    const form = await formOf(await ada.get(`${program}/change`));
    const attempt = { ...form, reason: 'As before', do: 'sign' };
    expect((await ada.post(`${program}/change`, attempt)).status).toBe(400);
    const also = Object.keys(form)
      .filter((name) => /^settlements\..*\.exercises$/.test(name))
      .map((name) => [name.replace(/exercises$/, 'also'), 'yes']);
    const still = await ada.post(`${program}/change`, { ...attempt, ...Object.fromEntries(also) });
    expect(still.status).toBe(303);
  });

  it('asks for details where a yes means little without them', async () => {
    const path = await newPerson('Wilma Details');
    const yes = { 'answers.hip-operation.answer': 'yes', do: 'rest-no' };
    await ada.submit(`${path}/screening/all/bones`, yes);
    const page = await formOf(await ada.get(`${path}/screening/all/bones`));
    const refused = await ada.post(`${path}/screening/all/bones`, page);
    expect(refused.status).toBe(400);
    expect(await text(refused)).toContain(
      'Hip operation or broken hip in the last twelve months: enter when it was',
    );
  });
});

describe('a program that has ended', () => {
  it('takes no more work, and what was begun on it is gone from the list', async () => {
    const path = await newPerson('Edda Ends');
    await screen(ada, path, []);
    const program = (await sign(path, await begin(path))).headers.get('location') ?? '';
    const form = await formOf(await ada.get(`${program}/change`));
    await ada.post(`${program}/change/preview`, { ...form, timesADay: '2' });
    expect(await text(await ada.get('/'))).toContain('Program for Edda Ends');
    await ada.submit(`${program}/state`, { state: 'ended', reason: 'Goes on alone' });
    expect(await text(await ada.get('/'))).not.toContain('Program for Edda Ends');
    expect((await ada.post(`${program}/change/preview`, form)).status).toBe(400);
  });
});

describe('new work', () => {
  it('sent twice is signed once', async () => {
    const path = await newPerson('Paula Twice');
    await screen(ada, path, []);
    const form = await begin(path);
    const places = await Promise.all([sign(path, form), sign(path, form), sign(path, form)]);
    const locations = new Set(places.map((answer) => answer.headers.get('location')));
    expect([...locations]).toEqual([expect.stringMatching(/^\/prescriptions\//)]);
    expect((await text(await ada.get(path))).match(/<h3><a href="\/prescriptions/g)).toHaveLength(1);
  });

  it('signed already and changed since is not lost, and no second program comes of it', async () => {
    const path = await newPerson('Pia Back');
    await screen(ada, path, []);
    const form = await begin(path);
    expect((await sign(path, form)).status).toBe(303);
    const again = await sign(path, { ...form, timesADay: '2' });
    expect(again.status).toBe(400);
    expect(await text(again)).toContain('this draft was already signed');
    expect((await text(await ada.get(path))).match(/<h3><a href="\/prescriptions/g)).toHaveLength(1);
    expect(await text(await ada.get('/')), 'what was changed since is kept').toContain(
      'Program for Pia Back',
    );
    await ada.submit(`${path}/prescribe`, { do: 'discard' });
    expect(await text(await ada.get('/'))).not.toContain('Program for Pia Back');
    const trail = await text(await ada.get(`/records?patient=${path.split('/')[2]}`));
    expect(trail.match(/Version signed/g)).toHaveLength(1);
  });

  it('sent once more by a page that was just left is no unsigned work', async () => {
    const path = await newPerson('Paul Late');
    await screen(ada, path, ['osteoporosis']);
    const form = await begin(path);
    const arranged = Object.keys(form)
      .filter((name) => /^settlements\..*\.exercises$/.test(name))
      .map((name) => [name.replace(/exercises$/, 'isArranged'), 'yes']);
    const settled = { ...form, ...Object.fromEntries(arranged) };
    const program = (await sign(path, settled)).headers.get('location') ?? '';
    await ada.post(`${path}/prescribe/preview`, settled);
    expect(await text(await ada.get('/'))).not.toContain('Program for Paul Late');
    const next = await formOf(await ada.get(`${program}/change`));
    await ada.post(`${program}/change/preview`, { ...next, timesADay: '2' });
    expect(await text(await ada.get('/'))).toContain('Program for Paul Late');
    await ada.post(`${program}/change/preview`, next);
    expect(await text(await ada.get('/')), 'nor what was changed back').not.toContain(
      'Program for Paul Late',
    );
  });

  it('a second click on a next version signs it once', async () => {
    const path = await newPerson('Petra Click');
    await screen(ada, path, []);
    const program = (await sign(path, await begin(path))).headers.get('location') ?? '';
    const form = await formOf(await ada.get(`${program}/change`));
    const next = { ...form, timesADay: '2', reason: 'More', do: 'sign' };
    const clicks = await Promise.all([
      ada.post(`${program}/change`, next),
      ada.post(`${program}/change`, next),
    ]);
    expect(clicks.map(({ status }) => status)).toEqual([303, 303]);
    expect((await text(await ada.get(program))).match(/<h3>Version/g)).toHaveLength(2);
    expect(await text(await ada.get('/'))).not.toContain('Program for Petra Click');
  });

  it('of which no session can be made is not signed', async () => {
    const path = await newPerson('Toni Budget');
    await screen(ada, path, []);
    const form = { ...(await begin(path)), 'program.timeBudgetMinutes': '1' };
    const refused = await sign(path, form);
    expect(refused.status).toBe(400);
    expect(await text(refused)).toContain('timeBudgetMinutes');
  });

  it('that begins with a side asks for this person’s', async () => {
    const path = await newPerson('Karla Side');
    await screen(ada, path, []);
    const form = await begin(path, 'after-joint-replacement');
    const sides = Object.keys(form).filter((name) => form[name] === 'choose');
    expect(sides.length).toBeGreaterThan(0);
    const refused = await sign(path, form);
    expect(refused.status).toBe(400);
    const chosen = Object.fromEntries(sides.map((name) => [name, 'left']));
    expect((await sign(path, { ...form, ...chosen })).status).toBe(303);
  });
});

describe('the list of who needs her', () => {
  it('follows a person from the first visit to a second screening', async () => {
    const path = await newPerson('Zoe Waits');
    const home = async () => text(await ada.get('/'));
    const line = async () => /<strong>Zoe Waits<\/strong>: ([^<]+)/.exec(await home())?.[1]?.trim();
    expect(await line()).toBe('Not screened yet');
    await screen(ada, path, []);
    expect(await line()).toBe('Screened, no program yet');
    const form = await begin(path);
    expect(await home()).toContain('Program for Zoe Waits');
    const program = (await sign(path, form)).headers.get('location') ?? '';
    expect(await line()).toBeUndefined();
    expect(await home(), 'signed work is no draft').not.toContain('Program for Zoe Waits');
    await screen(ada, path, ['fall-risk']);
    expect(await line()).toBe('Re-screened since the program was signed');
    expect(await text(await ada.get(program))).toContain('It is still active without them');
    await ada.submit(`${program}/state`, { state: 'paused', reason: 'To be looked at' });
    expect(await line()).toBe('Program paused');
    await ada.submit(`${program}/state`, { state: 'ended', reason: 'Another clinic' });
    expect(await line()).toBeUndefined();
  });
});
