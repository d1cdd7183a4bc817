import { afterAll, expect, it } from 'vitest';
import { addDays } from '../../../src/schedule/wallClock.js';
import { hasPoppler, textOf } from '../../documents/poppler.js';
import { giveLink, signShortProgram } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { inFullWords, openRemindersClinic, read } from '../../support/remindersClinic.js';

const { clinic, ada, ben, eve, today, html, newPerson } = await openRemindersClinic();
afterAll(() => clinic.remove());

const path = await newPerson({ name: 'Rosa <Lind> محمد' });
const papers = `${path}/papers`;

it('says what will appear as long as there is no program and no note', async () => {
  const page = await read(ada.get(papers));
  expect(page).toContain('No program yet. Once one is signed, its handout appears here.');
  expect(page).toContain('None yet. Signed notes are kept here and never changed.');
  expect(page).toContain('Program ------- Not recorded.');
});

it('makes the handout: without the secrets of a link from its page, with them only where they are shown', async () => {
  const program = (await signShortProgram(ada, path)).split('/')[2] ?? '';
  const plain = await ada.get(`${papers}/handout?program=${program}&paper=letter`);
  expect(plain.headers.get('content-type')).toBe('application/pdf');
  expect(plain.headers.get('content-disposition')).toBe('attachment; filename=handout.pdf');
  const bytes = new Uint8Array(await plain.arrayBuffer());
  const { path: link, code, page } = await giveLink(ada, path, { pin: '4711' });
  expect(page).toContain('Handout with this code, as PDF');
  const secrets = { program, token: link.split('/')[2] ?? '', code };
  const made = await ada.submit(`${papers}/handout`, secrets);
  expect(made.status).toBe(200);
  const withCode = new Uint8Array(await made.arrayBuffer());
  if (hasPoppler) {
    expect(textOf(bytes)).toContain('Rosa <Lind> محمد');
    expect(textOf(bytes)).not.toContain(code);
    expect(textOf(withCode)).toContain(code);
    expect(textOf(withCode)).toContain('Enter your PIN');
  }
  expect(clinic.logged.join('\n'), 'no secret is logged').not.toContain(secrets.token);
  await giveLink(ada, path);
  const old = await ada.submit(`${papers}/handout`, secrets);
  expect(old.status, 'the link has ended').toBe(400);
  expect((await ada.submit(`${papers}/handout`, { ...secrets, token: '../x' })).status).toBe(400);
  expect((await ada.get(`${papers}/handout?program=${crypto.randomUUID()}`)).status).toBe(404);
  expect((await ada.get(`${await newPerson()}/papers/handout?program=${program}`)).status).toBe(404);
});

it('signs a note as it was read, with her words, once and for ever', async () => {
  const form = await formOf(await ada.get(papers));
  const words = 'Doing well.\r\nSee in May. # {{x}} <b>';
  const { noteId = '', fromDay = '', untilDay = '', seen = '' } = form;
  const fields = { noteId, fromDay, untilDay, seen, words };
  expect([fromDay, untilDay]).toEqual([addDays(today, -27), today]);
  for (const time of [1, 2]) {
    const signed = await ada.submit(`${papers}/notes`, fields);
    expect(signed.headers.get('location'), `sent ${time}`).toBe(`${papers}#notes`);
  }
  const page = await html(papers);
  const links = [...page.matchAll(/href="([^"]+\/text)"/g)].map(([, link]) => link ?? '');
  expect(links).toEqual([`${papers}/notes/${noteId}/text`]);
  const text = await (await ada.get(links[0] ?? '')).text();
  expect(text).toContain(`From ${inFullWords(fromDay)} to ${inFullWords(today)}.`);
  expect(text).toContain('- Ankle pumps: ');
  expect(text).toContain('Doing well.\nSee in May. # {{x}} <b>\nSigned by Ada Brandt on');
  const pdf = await ada.get((links[0] ?? '').replace(/text$/, 'pdf'));
  const bytes = new Uint8Array(await pdf.arrayBuffer());
  expect(new TextDecoder('latin1').decode(bytes.slice(0, 5))).toBe('%PDF-');
  if (hasPoppler) expect(textOf(bytes)).toContain('See in May. # {{x}} <b> Signed by Ada Brandt');
  expect(await read(ada.get('/records'))).toContain('Progress note signed');
});

it('keeps her words and shows the note anew when the record has changed since it was read', async () => {
  const { noteId = '', fromDay = '', untilDay = '', seen = '' } = await formOf(await ada.get(papers));
  const value = { entryId: crypto.randomUUID(), measureId: 'height', value: '165', takenOn: today, note: '' };
  await ada.submit(`${path}/measures`, value);
  const fields = { noteId, fromDay, untilDay, seen, words: 'Unchanged' };
  const refused = await ada.submit(`${papers}/notes`, fields);
  expect(refused.status).toBe(400);
  const page = await refused.text();
  expect(page).toContain('the record has changed since you read this note');
  expect(page).toContain('>Unchanged</textarea>');
  expect(page).toContain('165 cm');
  expect(await html(papers)).not.toContain(noteId);
});

it('notes what a value gives to consider, and changes with the published number and where it is from', async () => {
  const before = addDays(today, -60);
  const taken: [string, string, string][] = [
    ['height', '167,5', before],
    ['timed-up-and-go', '14.5', before],
    ['timed-up-and-go', '12', today],
    ['chair-stand-30s', '3', today],
  ];
  for (const [measureId, value, takenOn] of taken) {
    const entry = { entryId: crypto.randomUUID(), measureId, value, takenOn, note: '' };
    expect((await ada.submit(`${path}/measures`, entry)).status).toBe(303);
  }
  const page = await read(ada.get(papers));
  // Alghadir 2015, BMC Musculoskelet Disord: 1.10 s; BHOF (LeBoff 2022): 2 cm; CDC STEADI: chair stands by age.
  expect(page).toContain('Change −2.5 s, better: at least the published number of 1.1 s. Study population:');
  expect(page).toContain('Alghadir 2015, BMC Musculoskelet Disord');
  expect(page).toContain('Change −2.5 cm: no smallest real change is published.');
  expect(page).toContain('Consideration for Height (loss: 2.5 cm): From age 50 on');
  expect(page).toMatch(/Consideration for 30-second chair stand, ages \d+ to \d+: below average for men/);
  expect(page).toContain('None reported.');
  expect(page).not.toContain('chance');
  const then = await read(ada.get(`${papers}?fromDay=${addDays(today, -90)}&untilDay=${addDays(today, -1)}`));
  expect(then, 'as it was up to that day').toContain('Height: 167.5 cm on');
  expect(then).not.toContain('Consideration for Height');
});

it('asks for days that can be, and says which field is wrong', async () => {
  const asked = async (fromDay: string, untilDay: string) => {
    const answer = await ada.get(`${papers}?fromDay=${fromDay}&untilDay=${untilDay}`);
    return { status: answer.status, page: await read(Promise.resolve(answer)) };
  };
  const ahead = await asked(today, addDays(today, 1));
  expect(ahead.status).toBe(400);
  expect(ahead.page).toContain('Last day: this date is in the future');
  expect((await asked(today, addDays(today, -1))).page).toContain('First day: this is after the last day');
  expect((await asked('2026-02-30', today)).page).toContain('First day: a date such as 2026-11-25');
});

it('describes a program item by item, with what she adds', async () => {
  const program = /name="program"><option value="([^"]+)"/.exec(await html(papers))?.[1] ?? '';
  const added = { 'added.2': 'Licensed since 1998.' };
  const text = await (await ada.submit(`${papers}/description`, { program, as: 'text', ...added })).text();
  expect(text.match(/^Item \w+\. /gm)).toHaveLength(19);
  expect(text).toContain('Added: Licensed since 1998.');
  expect(text).toContain('- Ankle pumps: ');
  const pdf = await ada.submit(`${papers}/description`, { program, as: 'pdf' });
  expect(pdf.headers.get('content-type')).toBe('application/pdf');
});

it('is read by who may read, written by who may write, and unknown to another clinic', async () => {
  const { noteId = '', fromDay = '', untilDay = '', seen = '' } = await formOf(await ada.get(papers));
  const page = await ben.get(papers);
  expect(page.status).toBe(200);
  expect(await page.text()).not.toContain('Sign and save');
  const fields = { noteId, fromDay, untilDay, seen, words: '' };
  expect((await ben.submit(`${papers}/notes`, fields)).status).toBe(403);
  expect((await ada.post(`${papers}/notes`, { ...fields, formToken: 'none' })).status).toBe(400);
  const signed = /papers\/notes\/([\w-]{36})\/text/.exec(await html(papers))?.[1];
  for (const where of ['', `/notes/${signed}/text`, `/notes/${signed}/pdf`]) {
    expect((await eve.get(`${papers}${where}`)).status, where).toBe(404);
  }
});
