import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { addPerson, giveLink, owner, screen, signShortProgram, type Visitor } from '../../support/clinic.js';
import { idOf, ListeningClinic } from '../../support/listener.js';

const { zone } = owner;
let at: ListeningClinic;

beforeAll(async () => {
  at = await ListeningClinic.open();
  await at.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
  // Noon of the next day: a session is for now, whenever the tests run.
  const tomorrow = addDays(isoDayIn(Date.now(), zone), 1);
  at.clinic.clock.aheadMs = wallClockInstant(tomorrow, '12:00', zone) - Date.now();
  await at.ada.post('/sign-in', owner);
});
afterAll(() => at.clinic.remove());

/** Somebody of their own, so that no test sees the warnings of another. */
async function person(name: string, link: Record<string, string> = {}) {
  const path = await addPerson(at.ada, { name, zone });
  await screen(at.ada, path, []);
  await signShortProgram(at.ada, path);
  return { path, link: (await giveLink(at.ada, path, link)).path };
}

/** The hidden fields of the form on a page. */
async function fieldsOf(guest: Visitor, link: string): Promise<Record<string, string>> {
  const page = await (await guest.get(link)).text();
  const form = /<form method="post" action="tell".*?<\/form>/s.exec(page)?.[0] ?? '';
  const hidden = [...form.matchAll(/<input type="hidden" name="(\w+)" value="([^"]*)">/g)];
  return Object.fromEntries(hidden.map(([, name = '', value = '']) => [name, value]));
}

const isHeld = async (link: string) => (await at.planOf(link)).people[0]?.isHeld;

describe('the listening page before any script', () => {
  it('names whom to call, what to listen to, and how to tell', async () => {
    const { link } = await person('Emil Tarn');
    const page = await (await at.guest().get(link)).text();
    const plain = page.slice(page.indexOf('<body'), page.indexOf('<main'));
    expect(plain).toContain('href="tel:112"');
    expect(plain).toContain('href="tel:010055500"');
    expect(plain.match(/<audio controls/g)).toHaveLength(1);
    expect(plain).toContain('name="what" value="warning"');
    expect(plain).not.toContain('hidden>\n<h1');
    expect(page, 'nothing hides it but the style sheet, once a view is shown').not.toContain('<noscript>');
    const audio = /<audio controls preload="none" src="([^"]+)"/.exec(plain)?.[1] ?? '';
    expect((await at.guest().get(link + audio.replaceAll('&#x2F;', '/'))).status).toBe(200);
  });
});

describe('the form without scripts', () => {
  it('keeps a warning as a phone’s own would be, once, and says so only then', async () => {
    const { path, link } = await person('Ines Moor');
    const guest = at.guest();
    const fields = await fieldsOf(guest, link);
    expect(fields).toMatchObject({ patientId: idOf(path), versionNumber: '1' });
    const told = { ...fields, what: 'warning', sign: 'chest-pain' };
    const [first, again] = [await guest.post(`${link}tell`, told), await guest.post(`${link}tell`, told)];
    for (const answer of [first, again]) {
      expect(answer.status).toBe(200);
      const page = await answer.text();
      expect(page).toContain('Your clinic has your message');
      expect(page).toContain('Call the emergency number now.');
      expect(page).toContain('href="tel:112"');
      expect(page).toContain('Do not drive yourself anywhere.');
    }
    expect(await isHeld(link)).toBe(true);
    const record = await (await at.ada.get(path)).text();
    expect(record.match(/Warning sign reported/g)).toHaveLength(1);
    // After going back, with something else.
    await guest.post(`${link}tell`, { ...told, sign: 'faint' });
    const both = await (await at.ada.get(path)).text();
    for (const sign of ['Pain or pressure in my chest', 'I fainted']) expect(both).toContain(sign);
  });

  it('keeps answers, and a sign that was ticked with them holds everything back', async () => {
    const { path, link } = await person('Anna Lind');
    const guest = at.guest();
    const fields = await fieldsOf(guest, link);
    const answers = { what: 'check-in', done: 'most', painBefore: '2', painAfter: '3', effort: '' };
    const note = 'Grüße, 非常 good '.repeat(100);
    expect((await guest.post(`${link}tell`, { ...fields, ...answers, note })).status).toBe(200);
    expect(await isHeld(link)).toBe(false);
    const record = await (await at.ada.get(`${path}/heard`)).text();
    expect(record).toContain('pain before 2, after 3; effort skipped');
    await guest.post(`${link}tell`, { ...fields, ...answers, sign: 'heart-racing' });
    expect(await isHeld(link)).toBe(true);
    // After going back, with another sign: the one before must not answer for it.
    await guest.post(`${link}tell`, { ...fields, ...answers, sign: 'chest-pain' });
    expect(await (await at.ada.get('/')).text()).toContain('Pain or pressure in my chest');
  });

  it('says that nothing was sent, and whom to call, whenever nothing was kept', async () => {
    const { link } = await person('Olga Feld');
    const guest = at.guest();
    const fields = { ...(await fieldsOf(guest, link)), what: 'warning' };
    const wrong = [
      { ...fields, patientId: idOf(at.rosaPath) },
      { ...fields, prescriptionId: randomUUID() },
      { ...fields, slot: '1999-01-01#1' },
      { ...fields, slot: 'today' },
      { ...fields, sign: 'x'.repeat(100) },
      { what: 'warning' },
      { ...fields, note: 'a\0b' },
    ];
    for (const each of wrong) {
      const answer = await guest.post(`${link}tell`, each);
      const page = await answer.text();
      expect(answer.status, JSON.stringify(each)).toBe(400);
      expect(page).toContain('Your clinic does not have your message. If something is wrong, call now.');
      expect(page).toContain('href="tel:112"');
      expect(page).not.toContain('Your clinic has your message');
    }
    expect([await isHeld(link), await isHeld(at.rosaLink)]).toEqual([false, false]);
  });

  it('too long to be read says so, what to do, and whom to call', async () => {
    const { link } = await person('Lotte Weit');
    const guest = at.guest();
    const fields = { ...(await fieldsOf(guest, link)), what: 'warning', note: 'x'.repeat(150_000) };
    const answer = await guest.post(`${link}tell`, fields);
    expect(answer.status).toBe(413);
    const page = await answer.text();
    expect(page).toContain('Your clinic does not have your message. If something is wrong, call now.');
    expect(page).toContain('Your message was too long. Go back, make it shorter, and send it again.');
    expect(page).toContain('Nothing that you sent before is lost.');
    for (const number of ['tel:112', 'tel:010055500']) expect(page).toContain(number);
    const dead = await guest.post(`/l/${'x'.repeat(43)}/tell`, fields);
    expect(dead.status).toBe(404);
    expect(await dead.text()).toContain('call your clinic now. They may not know');
  });

  it('stands there, with the numbers, while a program is paused or has ended', async () => {
    const { path, link } = await person('Karl Still');
    const programId = /\/prescriptions\/([\w-]{36})/.exec(
      (await (await at.ada.get(path)).text()).replaceAll('&#x2F;', '/'),
    )?.[1];
    for (const state of ['paused', 'ended']) {
      await at.ada.submit(`/prescriptions/${programId}/state`, { state, reason: 'Rest' });
      const page = await (await at.guest().get(link)).text();
      expect(page, state).toContain('What should your clinic know?');
      expect(page.slice(0, page.indexOf('<main')), 'no session to tell about').not.toContain('name="done"');
      for (const number of ['tel:112', 'tel:010055500']) expect(page).toContain(number);
      const fields = await fieldsOf(at.guest(), link);
      expect(fields).toMatchObject({ prescriptionId: programId, slot: expect.stringMatching(/#99$/) });
      const note = `I am in the hospital (${state})`;
      const kept = await at.guest().post(`${link}tell`, { ...fields, what: 'check-in', note });
      expect(kept.status).toBe(200);
      expect(await (await at.ada.get(path)).text()).toContain(`in the hospital (${state})`);
    }
    const fields = await fieldsOf(at.guest(), link);
    const warned = await at.guest().post(`${link}tell`, { ...fields, what: 'warning', sign: 'faint' });
    expect(warned.status).toBe(200);
    expect(await isHeld(link)).toBe(true);
    const followUp = await (await at.ada.get(`${path}/follow-up`)).text();
    expect(followUp, 'no session of theirs was missed or done for it').not.toContain('#99');
  });

  it('of a link with a PIN is kept after it was given, and says that nothing was sent before', async () => {
    const { link } = await person('Hugo Brand', { pin: '2580' });
    const [guest, stranger] = [at.guest(), at.guest()];
    await guest.post(link, { pin: '2580' });
    const fields = { ...(await fieldsOf(guest, link)), what: 'warning' };
    const refused = await stranger.post(`${link}tell`, fields);
    const page = await refused.text();
    expect(refused.status).toBe(401);
    expect(page).toContain('Nothing was sent');
    expect(page).toContain('href="tel:112"');
    expect(page).not.toMatch(/Hugo|Quillmere/);
    expect((await guest.post(`${link}tell`, fields)).status).toBe(200);
  });

  it('of a link that has ended says that the clinic may not know', async () => {
    const { path, link } = await person('Vera Holm');
    const fields = { ...(await fieldsOf(at.guest(), link)), what: 'warning' };
    await giveLink(at.ada, path);
    const answer = await at.guest().post(`${link}tell`, fields);
    expect(answer.status).toBe(404);
    expect(await answer.text()).toContain('If something was wrong, call your clinic now. They may not know.');
  });

  it('in a flood is put off, but for a warning sign', async () => {
    const { link } = await person('Paul Renn');
    const guest = at.guest();
    const fields = await fieldsOf(guest, link);
    const place = { prescriptionId: fields.prescriptionId, patientId: fields.patientId };
    const about = { ...place, versionNumber: 1, sessionNumber: 1, slot: fields.slot };
    for (let round = 0; round < 20; round += 1) {
      const items = Array.from({ length: 100 }, () => ({
        ...{ kind: 'not-today', id: randomUUID(), reason: 'away', atMs: Date.now() },
        ...about,
      }));
      expect((await at.report(link, items)).status).toBe(200);
    }
    expect((await guest.post(`${link}tell`, { ...fields, what: 'warning' })).status).toBe(200);
    expect(await isHeld(link)).toBe(true);
    // The budget of warnings ends too; then it says so, with the numbers.
    let last = 200;
    for (let count = 0; count < 70 && last === 200; count += 1) {
      last = (await guest.post(`${link}tell`, { ...fields, what: 'warning', note: String(count) })).status;
    }
    expect(last).toBe(429);
  });

  it('logs nothing of what was told', () => {
    const log = at.clinic.logged.join('\n');
    expect(log).toContain('"route":"/l/:token/tell"');
    for (const secret of ['chest-pain', 'Grüße', 'Ines', at.rosaLink.split('/')[2] ?? '']) {
      expect(log).not.toContain(secret);
    }
  });
});
