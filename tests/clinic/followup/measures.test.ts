import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { measuresSummary } from '../../../src/http/pages/progress/measuresSummary.js';
import { addDays } from '../../../src/schedule/wallClock.js';
import { readMeasures } from '../../../src/session/readClinicWords.js';
import { openStore } from '../../../src/store/engine/openStore.js';
import { saveMeasure } from '../../../src/store/followup/measures.js';
import { openWords } from '../../../src/text/words.js';
import { makeClinic, makePatient } from '../../store/people.js';
import { formOf } from '../../support/forms.js';
import { inWords, openRemindersClinic, read } from '../../support/remindersClinic.js';

const { clinic, ada, ben, eve, today, html, newPerson } = await openRemindersClinic();
afterAll(() => clinic.remove());

const entry = (fields: Record<string, string>) => ({
  entryId: crypto.randomUUID(),
  measureId: 'height',
  value: '165',
  takenOn: today,
  note: '',
  ...fields,
});
const enter = (path: string, fields: Record<string, string>, who = ada) =>
  who.submit(`${path}/measures`, entry(fields));
const pageOf = (path: string) => read(ada.get(`${path}/measures`));
const tableRows = async (path: string) =>
  (await html(`${path}/measures`)).match(/<th scope="row">/g)?.length ?? 0;
const idOf = (path: string) => path.split('/')[2] ?? '';

describe('the page of measures', () => {
  it('says what will appear, and how each measure is taken', async () => {
    const page = await pageOf(await newPerson());
    expect(page).toContain('No measures yet. Each value you enter');
    expect(page).toContain('Place 1.7 cm blocks under the head');
    expect(page).toContain('Ask the patient for one to three activities');
  });

  it('shows values as they were typed, the change against what is published, and a picture', async () => {
    const path = await newPerson();
    const measureId = 'timed-up-and-go';
    const first = await enter(path, { measureId, value: '14,5', takenOn: addDays(today, -30) });
    expect(first.headers.get('location')).toBe(`${path}/measures#m-${measureId}`);
    expect(await pageOf(path)).toContain('The change and a chart appear here after a second value.');
    await enter(path, { measureId, value: '13.9 s', takenOn: addDays(today, -20) });
    const page = await pageOf(path);
    expect(page).toContain('−0.6 s: less than the smallest real change, so it may be measurement error.');
    await enter(path, { measureId, value: '0.2 min', note: 'with a stick' });
    const then = await pageOf(path);
    // Alghadir 2015, BMC Musculoskelet Disord: 1.10 s. CDC STEADI: at risk of falling from 12 s.
    expect(then).toContain('−2.5 s, better: a real change.');
    expect(then).toContain('12 s (typed: 0.2 min)');
    expect(then).toContain(
      'Consider (12 s). At 12 seconds or more, an older person is considered at risk of falling.',
    );
    expect(then).toContain(
      'Study population: people aged 45 to 70 with doubtful to moderate knee osteoarthritis (grades 1 to 3; 65).',
    );
    const marks = await html(`${path}/measures`);
    expect(marks.match(/<svg [^>]*role="img"/g)).toHaveLength(1);
    expect(marks).toContain('3 values of Timed up and go, from 14.5 s on');
    expect(marks, 'a line, although weeks lie between').toMatch(/<path class="line" d="M[^"]*L[^"]*L/);
    expect(marks).toContain('with a stick');
  });

  it('holds chair stands against both columns of the table, and against both ages that the year allows', async () => {
    const measureId = 'chair-stand-30s';
    const year = Number(today.slice(0, 4));
    const path = await newPerson({ birthYear: String(year - 70) });
    await enter(path, { measureId, value: '11', takenOn: `${year - 1}-12-31` });
    // CDC STEADI, 65 to 69: under 12 for men, 11 for women.
    expect(await pageOf(path)).toContain(
      'Ages 65 to 69: below average for men (under 12), not below average for women (under 11).',
    );
    await enter(path, { measureId, value: '10', takenOn: `${year}-01-02` });
    const page = await pageOf(path);
    expect(page).toContain('Ages 65 to 69: below average for men (under 12), below average for women');
    expect(page).toContain('Ages 70 to 74: below average for men (under 12), not below average for women');
    expect(page).toContain('Only the birth year is recorded, so both ages are shown.');
    expect(page).toContain('below average under this line: women aged 70 to 74');
    const ageless = await newPerson({ birthYear: '' });
    await enter(ageless, { measureId, value: '11' });
    expect(await pageOf(ageless)).toContain('Enter the birth year in the record');
  });

  it('brings up a loss of height, since youth and between visits, as something to consider', async () => {
    const path = await newPerson();
    await enter(path, { measureId: 'height-in-youth', value: '5 ft 5 in', note: 'old passport' });
    await enter(path, { value: '163', takenOn: addDays(today, -300) });
    expect(await pageOf(path)).not.toContain('Consider');
    await enter(path, { value: '161' });
    const page = await pageOf(path);
    // LeBoff 2022, BHOF: 0.8 in (2 cm) between visits, 1.5 in (4 cm) since youth; 5 ft 5 in are 165.1 cm.
    expect(page).toContain('Consider (loss: 2 cm). From age 50 on');
    expect(page).toContain('Consider (loss: 4.1 cm). From age 50 on');
    expect(page).toContain('It is a consideration, not a diagnosis.');
    expect(page).toContain('−2 cm: no smallest real change is published');
    expect(page, 'of a loss of height').not.toContain('chance');
  });
});

describe('a value that is entered', () => {
  it('is asked about when it is rare or far from the last, and kept as it is once confirmed', async () => {
    const path = await newPerson();
    await enter(path, { value: '165', takenOn: addDays(today, -3) });
    const asked = await enter(path, { value: '156', note: 'in shoes?' });
    expect(asked.status).toBe(200);
    const question = (await asked.text()).replaceAll('&#x2F;', '/');
    expect(question).toContain('Is this right?');
    expect(question).toContain('This is a large change from the last value. Previous value: 165 cm.');
    expect(await tableRows(path)).toBe(1);
    const form = /<form method="post" action="[^"]*\/measures">(.*?)<\/form>/s.exec(question)?.[1] ?? '';
    const confirming = await formOf(new Response(form));
    expect(confirming).toMatchObject({ value: '156', confirmed: '156', note: 'in shoes?' });
    const other = await ada.post(`${path}/measures`, { ...confirming, value: '256' });
    expect(other.status, 'what was confirmed is another value').toBe(400);
    expect((await ada.post(`${path}/measures`, confirming)).status).toBe(303);
    expect(await pageOf(path)).toContain('Latest: 156 cm');
    expect((await ada.post(`${path}/measures`, confirming)).status, 'sent twice').toBe(303);
    expect(await tableRows(path)).toBe(2);
  });

  it('that can be read in two ways is asked about, and each answer can be chosen', async () => {
    const path = await newPerson();
    const asked = (await (await enter(path, { value: '5.4' })).text()).replaceAll('&#x2F;', '/');
    expect(asked).toContain('did you mean');
    const readings = [...asked.matchAll(/name="value" value="([^"]+)">([^<]+)</g)].map(([, , text]) => text);
    expect(readings).toEqual(['5 ft 4 in (162.6 cm)', '5.4 ft (164.6 cm)']);
    expect(await tableRows(path)).toBe(0);
    const form =
      /<form method="post" action="[^"]*\/measures" class="row">(.*?)<\/form>/s.exec(asked)?.[1] ?? '';
    const chosen = { ...(await formOf(new Response(form))), value: '5 ft 4 in' };
    expect((await ada.post(`${path}/measures`, chosen)).status).toBe(303);
    expect(await pageOf(path)).toContain('162.6 cm (typed: 5 ft 4 in)');
  });

  it('that cannot be is refused in plain words, and what was typed stays', async () => {
    const path = await newPerson();
    const refusals: [Record<string, string>, string][] = [
      [{ value: '1650 cm' }, 'Value: this value is not possible; found 1650 cm; allowed: 90–230 cm'],
      [{ value: '' }, 'Value: enter a value'],
      [{ value: 'tall' }, 'Value: this is not a number; found tall; allowed: cm, mm, m, in, ft'],
      [{ value: '60 kg' }, 'Value: this unit is not known; found 60 kg; allowed: cm, mm, m, in, ft'],
      [{ measureId: 'pain', value: '3.5' }, 'Value: enter a whole number; found 3.5; allowed: 0–10'],
      [{ measureId: 'pain', value: '3 kg' }, 'found 3 kg; allowed: a plain number'],
      [{ measureId: 'pain', value: '11' }, 'Value: this value is not possible; found 11; allowed: 0–10'],
      [{ measureId: 'weight' }, 'Measure: choose a measure'],
      [{ takenOn: addDays(today, 1) }, 'Date: this date is in the future'],
      [{ takenOn: '1901-01-01' }, 'Date: this date is before the patient was born'],
      [{ takenOn: 'soon' }, 'Date: a date such as'],
    ];
    for (const [change, said] of refusals) {
      const refused = await enter(path, { note: 'after lunch', ...change });
      expect(refused.status, said).toBe(400);
      const page = (await refused.text()).replaceAll('&#x2F;', '/');
      expect(await read(Promise.resolve(new Response(page)))).toContain(said);
      expect(page).toContain('name="note" value="after lunch"');
      expect(page).toContain(`name="value" value="${change.value ?? '165'}"`);
    }
    expect(await tableRows(path)).toBe(0);
  });

  it('stays in the record, struck out, when it is withdrawn with a reason, and counts no longer', async () => {
    const path = await newPerson();
    await enter(path, { measureId: 'pain', value: '6', takenOn: addDays(today, -7) });
    await enter(path, { measureId: 'pain', value: '9' });
    const newest = /\/measures\/([\w-]{36})\/withdraw/.exec(await html(`${path}/measures`))?.[1] ?? '';
    const withdraw = (reason: string, who = ada, of = path) =>
      who.submit(`${of}/measures/${newest}/withdraw`, { reason });
    expect((await withdraw(' ')).status).toBe(400);
    expect((await withdraw('Of another day', ben)).status).toBe(403);
    expect((await withdraw('Of another day', eve)).status).toBe(404);
    expect((await withdraw('Of another day', ada, await newPerson())).status).toBe(404);
    expect((await withdraw('Of another day')).status).toBe(303);
    expect((await withdraw('Again')).status, 'a second time').toBe(404);
    expect(await html(`${path}/measures`)).toContain('<del>9</del>');
    const page = await pageOf(path);
    expect(page).toContain('Latest: 6 on');
    expect(page).toContain(`Withdrawn on ${inWords(today)} by Ada Brandt: Of another day`);
    const trail = await read(ada.get(`/records?patient=${idOf(path)}`));
    for (const line of ['Measure recorded', 'Measure withdrawn']) expect(trail).toContain(line);
  });

  it('is entered by nobody who may only read, and of nobody in another clinic', async () => {
    const path = await newPerson();
    expect((await enter(path, {}, ben)).status).toBe(403);
    expect((await enter(path, {}, eve)).status).toBe(404);
    expect((await eve.get(`${path}/measures`)).status).toBe(404);
    const seen = await read(ben.get(`${path}/measures`));
    expect(seen).toContain('No measures yet');
    expect(seen).not.toContain('Enter a value');
    expect((await ada.post(`${path}/measures`, entry({}))).status, 'without the token of a page').toBe(400);
    expect(await tableRows(path)).toBe(0);
  });
});

describe('the measures of a visit', () => {
  /** A form of several values, as the page sends it. */
  const visit = (
    path: string,
    values: Record<string, string>,
    more: Record<string, string> = {},
    who = ada,
  ) =>
    who.submit(`${path}/measures/visit`, {
      ...{ takenOn: today, note: 'usual shoes' },
      ...Object.fromEntries(
        Object.entries(values).flatMap(([id, value]) => [
          [`value.${id}`, value],
          [`entry.${id}`, crypto.randomUUID()],
        ]),
      ),
      ...more,
    });

  it('are entered together, once, and held against what is published', async () => {
    const path = await newPerson();
    const sent = {
      'gait-speed-4m': '5.2 s',
      'chair-stands-five': '17',
      'four-stage-balance': '2',
      'systolic-lying': '142',
      'systolic-standing': '118',
      'rib-to-pelvis': '1.4 in',
      pain: '',
    };
    expect((await visit(path, sent)).headers.get('location')).toBe(`${path}/measures#visit`);
    const page = await pageOf(path);
    // By arithmetic: 4 m in 5.2 s are 0.77 m/s.
    expect(page).toContain('0.77 m/s (typed: 5.2 s)');
    // European consensus on sarcopenia: 0.8 m/s or less, over 15 s. CDC STEADI: tandem. Freeman 2011: 20 mm Hg.
    // Siminoski 2003, Am J Med 115:233: two fingerbreadths, 3.6 cm; 1.4 in are 3.556 cm.
    for (const said of [
      'a slow walker',
      'low leg strength',
      'tandem stance',
      'orthostatic',
      '3.6 cm (typed',
    ]) {
      expect(page, said).toContain(said);
    }
    expect(page.match(/usual shoes by Ada/g)?.length).toBe(6);
  });

  it('are kept all or not at all: what is asked about or cannot be keeps the others back, and nothing typed is lost', async () => {
    const path = await newPerson();
    const refused = await visit(path, { height: '16500', pain: '12', 'timed-up-and-go': '13' });
    expect(refused.status).toBe(400);
    const form = await refused.text();
    expect(form).toContain('name="value.timed-up-and-go" value="13"');
    const said = await read(Promise.resolve(new Response(form)));
    for (const words of ['Height: this value is not possible', 'Pain, 0 to 10: this value is not possible'])
      expect(said).toContain(words);
    expect(await tableRows(path)).toBe(0);
    const values = { height: '5.4', pain: '3', 'chair-stand-30s': '40' };
    const asked = await visit(path, values);
    expect(asked.status).toBe(200);
    const questions = await asked.text();
    expect(questions).toContain('Nothing is saved yet.');
    expect(questions).toContain('name="reading.height" value="5 ft 4 in"');
    expect(questions).toContain('name="confirmed.chair-stand-30s" value="40"');
    expect(await tableRows(path)).toBe(0);
    const answered = { 'reading.height': '5 ft 4 in', 'confirmed.chair-stand-30s': '40' };
    expect((await visit(path, values, answered)).status).toBe(303);
    expect(await pageOf(path)).toContain('162.6 cm (typed: 5 ft 4 in)');
    expect(await pageOf(path)).toContain('Latest: 40 stands');
  });

  it('compare a standing with a lying blood pressure of the same day only', async () => {
    const path = await newPerson();
    await visit(path, { 'systolic-lying': '150' }, { takenOn: addDays(today, -30) });
    await visit(path, { 'systolic-standing': '120' });
    expect(await pageOf(path)).not.toContain('orthostatic hypotension');
    await visit(path, { 'systolic-lying': '139' });
    expect(await pageOf(path), '19 mm Hg').not.toContain('orthostatic hypotension');
    await visit(path, { 'systolic-lying': '140' });
    expect(await pageOf(path), '20 mm Hg').toContain('orthostatic hypotension');
  });

  it('are entered by nobody who may only read, of nobody in another clinic, and not without a value', async () => {
    const path = await newPerson();
    expect((await visit(path, { pain: '3' }, {}, ben)).status).toBe(403);
    expect((await visit(path, { pain: '3' }, {}, eve)).status).toBe(404);
    const empty = await visit(path, { pain: ' ' });
    expect([empty.status, await read(Promise.resolve(empty))]).toEqual([
      400,
      expect.stringContaining('enter at least one value'),
    ]);
    expect((await visit(path, { weight: '70' })).status, 'no such measure').toBe(400);
    expect((await visit(path, { pain: '3' }, { takenOn: addDays(today, 1) })).status).toBe(400);
    expect(await tableRows(path)).toBe(0);
  });
});

describe('measures that are not in the catalogue', () => {
  it('are activities that one person chose, added, entered, stopped, and still readable', async () => {
    const path = await newPerson();
    const add = (name: string, who = ada) => who.submit(`${path}/measures/activities`, { name });
    expect((await add('Hang up the <wash>')).status).toBe(303);
    expect((await add('hang up the <WASH>')).status, 'twice').toBe(400);
    expect((await add(' ')).status).toBe(400);
    expect([(await add('Sew', ben)).status, (await add('Sew', eve)).status]).toEqual([403, 404]);
    expect(await pageOf(await newPerson()), 'of somebody else').not.toContain('Hang up');
    const id = /\/measures\/own\/([\w-]{36})\/end/.exec(await html(`${path}/measures`))?.[1] ?? '';
    expect((await enter(path, { measureId: id, value: '3/10' })).status, 'asked about').toBe(200);
    expect((await enter(path, { measureId: id, value: '3', takenOn: addDays(today, -9) })).status).toBe(303);
    expect((await enter(path, { measureId: id, value: '6' })).status).toBe(303);
    expect(await html(`${path}/measures`)).toContain('Hang up the &lt;wash&gt;');
    expect(await pageOf(path)).toContain('+3 points: no smallest real change is published');
    const stop = (who = ada) => who.submit(`${path}/measures/own/${id}/end`, {});
    expect([(await stop(ben)).status, (await stop(eve)).status]).toEqual([403, 404]);
    expect([(await stop()).status, (await stop()).status]).toEqual([303, 404]);
    expect((await enter(path, { measureId: id, value: '7' })).status, 'stopped').toBe(400);
    expect(await pageOf(path)).toContain('Patient-chosen activity, 0 to 10. Stopped.');
  });

  it('are the clinic’s own, for everybody in its care', async () => {
    const [path, other] = [await newPerson(), await newPerson()];
    const grip = { name: 'Grip', unit: 'kg', least: '0', most: '90,5', better: 'higher' };
    const add = (more: Record<string, string>, who = ada) =>
      who.submit(`${path}/measures/own`, { ...grip, ...more });
    const refusals: [Record<string, string>, string][] = [
      [{ least: '1,234' }, 'Lowest possible value: enter a plain number'],
      [{ most: 'much' }, 'Highest possible value: enter a plain number'],
      [{ most: '0' }, 'Highest possible value: the highest value must be above the lowest'],
      [{ unit: 'm2' }, 'Unit: a unit starts with a letter'],
      [{ name: 'Height' }, 'Name: a measure with this name already exists'],
      [{ better: 'blue' }, 'Better: choose one'],
    ];
    for (const [change, said] of refusals) {
      const refused = await add(change);
      expect(refused.status, said).toBe(400);
      expect(await read(Promise.resolve(refused))).toContain(said);
    }
    expect([(await add({}, ben)).status, (await add({}, eve)).status]).toEqual([403, 404]);
    expect((await add({})).status).toBe(303);
    expect(await pageOf(other)).toContain('0 to 90.5 kg. Higher is better.');
    const id = /\/measures\/own\/([\w-]{36})\/end/.exec(await html(`${other}/measures`))?.[1] ?? '';
    expect((await enter(other, { measureId: id, value: '12,5 kg' })).status).toBe(303);
    expect((await enter(other, { measureId: id, value: '91' })).status).toBe(400);
    expect((await enter(other, { measureId: id, value: '5 lb' })).status).toBe(400);
    expect(await pageOf(other)).toContain('Latest: 12.5 kg');
    await ada.submit(`${path}/measures/own/${id}/end`, {});
    expect(await pageOf(other)).toContain('Clinic measure. Stopped.');
  });
});

describe('measures in short', () => {
  it('are the last value, the first, and what the change between them is', async () => {
    const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'short.db') });
    try {
      const nowMs = Date.UTC(2026, 10, 25);
      const { clinicId, clinicianId } = await store.write((db) => makeClinic(db, nowMs));
      const id = await store.write((db) => makePatient(db, clinicId, nowMs));
      const taken: [string, number, string][] = [
        ['chair-stand-30s', 8, '2026-10-01'],
        ['chair-stand-30s', 9, '2026-11-01'],
        ['chair-stand-30s', 11, '2026-11-24'],
        ['occiput-to-wall', 7, '2026-11-24'],
        ['of-an-older-catalogue', 3, '2026-11-24'],
      ];
      for (const [measureId, value, takenOn] of taken) {
        const of = { id: crypto.randomUUID(), patientId: id, clinicianId, note: '', nowMs };
        const kept = { ...of, measureId, value, entered: String(value), takenOn };
        await store.write((db) => saveMeasure(db, kept));
      }
      const measures = await readMeasures('audio-templates');
      const service = { workshop: { measures }, words: await openWords() };
      const patient = { id, birthYear: 1944 };
      const summary = await store.read((db) => measuresSummary(db, service, { clinicId, patient }));
      expect(summary).toMatchObject([
        {
          id: 'occiput-to-wall',
          last: { value: '7 cm', takenOn: '2026-11-24' },
          ...{ first: null, change: null, band: 'moderate' },
          considerations: [expect.stringContaining('Above 5 cm'), expect.stringContaining('At 6.5 cm')],
        },
        {
          id: 'chair-stand-30s',
          name: '30-second chair stand',
          first: { value: '8 stands', takenOn: '2026-10-01' },
          last: { value: '11 stands', takenOn: '2026-11-24' },
          // Gill 2022, Musculoskeletal Care: about 2.5 stands, so three.
          change: { amount: '+3 stands', percent: null, direction: 'better', isReal: true },
          considerations: [],
        },
        { id: 'of-an-older-catalogue', name: 'of-an-older-catalogue', last: { value: '3' } },
      ]);
    } finally {
      await store.close();
    }
  });
});
