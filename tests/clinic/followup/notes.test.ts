import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ReportAnswer } from '../../../src/listening/report.js';
import { openStore } from '../../../src/store/engine/openStore.js';
import { owner, Visitor } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf, ListeningClinic, placeOf } from '../../support/listener.js';

const benAccount = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
let at: ListeningClinic;
/** A colleague who may read and no more. */
let ben: Visitor;

beforeAll(async () => {
  at = await ListeningClinic.open();
  const invited = await at.ada.submit('/colleagues', { role: 'read-only' });
  const link = /join\/[\w-]{43}/.exec((await invited.text()).replaceAll('&#x2F;', '/'))?.[0];
  ben = new Visitor(() => at.clinic.service.address);
  await ben.post(`/${link}`, benAccount);
  await ben.post('/sign-in', benAccount);
});
afterAll(() => at.clinic.remove());

/** Tells of a session with a note, as a phone does that did not look at its words. */
async function write(note: string, more: object = {}): Promise<string> {
  const { session } = await at.firstSession(at.rosaLink);
  const checkIn = {
    ...{
      kind: 'check-in',
      id: randomUUID(),
      listeningId: randomUUID(),
      ...placeOf(session, idOf(at.rosaPath)),
    },
    ...{ answers: { done: 'all', note }, atMs: Date.now() + at.clinic.clock.aheadMs, ...more },
  };
  const answer = await at.report(at.rosaLink, [checkIn, checkIn], Date.now() + at.clinic.clock.aheadMs);
  const { keptIds }: ReportAnswer = JSON.parse(await answer.text());
  expect(keptIds).toContain(checkIn.id);
  return checkIn.id;
}
const read = (visitor: Visitor, ids: readonly string[], found = '') =>
  visitor.formToken().then((formToken) => {
    const body = new URLSearchParams({ formToken, found });
    for (const id of ids) body.append('note', id);
    return fetch(new URL(`${at.rosaPath}/notes`, at.clinic.service.address), {
      ...{ method: 'POST', redirect: 'manual', body },
      headers: { cookie: visitor.cookie, 'sec-fetch-site': 'same-origin' },
    });
  });
const waits = 'Unread note';
const isPressing = 'A note may name a warning sign';

describe('a note', () => {
  it('stands on the first page and the person’s pages until a clinician has read it, and who is kept', async () => {
    const id = await write('The <pillow> slides a bit');
    await write('   ');
    expect((await at.page('/')).match(new RegExp(waits, 'g')), 'once, and none for a blank one').toHaveLength(
      1,
    );
    for (const path of ['', '/follow-up', '/heard', '/advice']) {
      const page = await at.page(`${at.rosaPath}${path}`);
      expect(page, path).toMatch(
        /1 unread note from .*No step up can be advised or signed until it has been read/s,
      );
      expect(page, path).toContain('The &lt;pillow&gt; slides a bit');
      expect(page, path).not.toContain('may name a warning sign');
    }
    expect(await at.page(`${at.rosaPath}/heard`)).toContain('Not read yet');
    expect(await (await ben.get(at.rosaPath)).text(), 'seen by all').toContain('1 unread note');
    expect(await (await ben.get(at.rosaPath)).text()).not.toContain('Mark as read');
    expect((await read(ben, [id])).status, 'who may only read the record').toBe(403);
    expect((await read(at.ada, [randomUUID()])).status, 'one that is not there').toBe(303);
    expect(await at.page('/')).toContain(waits);
    expect((await read(at.ada, [id])).status).toBe(303);
    expect(await at.page('/')).not.toContain(waits);
    expect(await at.page(at.rosaPath)).not.toContain('unread note');
    const heard = await at.page(`${at.rosaPath}/heard`);
    expect(heard).toMatch(/slides a bit.*Read by Ada Brandt on/s);
    expect((await at.page('/records')).match(/Note read/g), 'on the trail').toHaveLength(1);
    await read(at.ada, [id]);
    expect((await at.page('/records')).match(/Note read/g), 'once').toHaveLength(1);
    expect(await at.page(`${at.rosaPath}/record/csv/check-ins`)).toMatch(/slides a bit.*Ada Brandt/);
    const bundle = await at.page(`${at.rosaPath}/record/bundle.json`);
    expect(bundle).toContain('Note read');
  });

  it('with words that may name a sign comes first, says which, stops nothing, and holds every step up', async () => {
    const plain = await write('All went well');
    const fell = await write('I fell yesterday and my head hurts');
    const none = await write('I did not fall');
    const home = await at.page('/');
    expect(home.indexOf(isPressing)).toBeGreaterThan(-1);
    expect(home, 'one line for a person').not.toContain(waits);
    expect(home).toMatch(
      /may name a warning sign: <strong>“fell”, “head hurts”, “not fall”<\/strong>.*Please answer by/s,
    );
    const page = await at.page(at.rosaPath);
    expect(page).toContain('3 unread notes, the first from');
    expect(page.indexOf('my head hurts'), 'before those that were written first').toBeLessThan(
      page.indexOf('All went well'),
    );
    expect(page).toMatch(/“fell”: I have fallen.*“not fall” \(a word such as “not” comes before it/s);
    expect((await at.planOf(at.rosaLink)).people[0]?.isHeld, 'a note is no report of a sign').toBe(false);
    expect(await at.page(`${at.rosaPath}/advice`)).toMatch(/Unread notes<\/th><td>3/);
    const reminders = await at.page(`${at.rosaPath}/reminders`);
    expect(reminders, 'told to the clinicians, twice; not for the plain one').toContain(
      'A note may name a warning sign',
    );
    expect((await read(at.ada, [plain, fell], 'Seen')).status, 'not by the way').toBe(409);
    expect((await read(at.ada, [fell])).status, 'nothing was found out').toBe(400);
    expect(await at.page('/')).toContain(isPressing);
    await read(at.ada, [fell], 'Called: bruise at the brow, seen by her doctor');
    await read(at.ada, [none], 'She wrote that she did not');
    expect(await at.page(`${at.rosaPath}/heard`)).toContain('Found: Called: bruise at the brow');
    expect(await at.page(`${at.rosaPath}/record/csv/check-ins`)).toContain('Called: bruise at the brow');
    expect(await at.page('/'), 'the plain one still waits').toContain(waits);
    await read(at.ada, [plain]);
    expect(await at.page('/')).not.toContain(waits);
    expect(await at.page(`${at.rosaPath}/advice`)).toMatch(/Unread notes<\/th><td>0/);
  });

  it('holds what a clinician signs by hand, whenever it came, where it asks for more; less is always signed', async () => {
    const path = `${at.programPath}/change`;
    const open = async (reps: number, more: object = {}) => {
      const form = await formOf(await at.ada.get(path));
      const reason = 'As we spoke about it';
      return { ...form, 'program.exercises.0.dose.reps': String(reps), ...more, reason, do: 'sign' };
    };
    // The page was drawn before the note came.
    const more = await open(7);
    const id = await write('I feel a bit off since Sunday');
    const refused = await at.ada.post(path, more);
    expect(refused.status).toBe(400);
    const page = await refused.text();
    expect(page).toMatch(
      /a note has not been read, and this asks for more than before.*Ankle pumps: repetitions/s,
    );
    expect(page, 'and can be read there').toMatch(/I feel a bit off since Sunday.*Mark as read/s);
    expect((await at.ada.post(path, await open(5, { timesADay: '2' }))).status, 'more often').toBe(400);
    await read(at.ada, [id]);
    expect((await at.ada.post(path, more)).status).toBe(303);
    const another = await write('Still a bit off');
    const fewer = await at.ada.post(path, await open(6));
    expect(fewer.status, await fewer.text()).toBe(303);
    expect((await at.ada.post(path, await open(7))).status, 'more than since then').toBe(400);
    await read(at.ada, [another]);
  });

  it('and so does a warning sign that nobody has answered', async () => {
    const path = `${at.programPath}/change`;
    const open = async (reps: number) => {
      const form = await formOf(await at.ada.get(path));
      return {
        ...form,
        'program.exercises.0.dose.reps': String(reps),
        reason: 'As spoken about',
        do: 'sign',
      };
    };
    const { session } = await at.firstSession(at.rosaLink);
    const about = { listeningId: randomUUID(), ...placeOf(session, idOf(at.rosaPath)) };
    const atMs = Date.now() + at.clinic.clock.aheadMs;
    const warning = {
      kind: 'warning',
      id: randomUUID(),
      ...about,
      signs: ['chest-pain'],
      positionMs: 0,
      atMs,
    };
    expect((await at.report(at.rosaLink, [warning], atMs)).status).toBe(200);
    const refused = await at.ada.post(path, await open(8));
    expect(refused.status).toBe(400);
    expect(await refused.text()).toMatch(
      /a warning sign has not been answered, and this asks for more than before.*Ankle pumps: repetitions/s,
    );
    expect((await at.ada.post(path, await open(5))).status, 'less is always signed').toBe(303);
    const answer = {
      seenUpToMs: String(atMs + 60_000),
      outcome: 'go-on',
      note: 'Seen today, the heart is well',
    };
    expect((await at.ada.submit(`${at.rosaPath}/warnings`, answer)).status).toBe(303);
    expect((await at.ada.post(path, await open(6))).status, 'answered').toBe(303);
  });

  it('waits as well after the service was started anew, and comes first by the words of today', async () => {
    const id = await write('some blood when I coughed');
    await at.clinic.restart();
    await at.ada.post('/sign-in', { email: 'ada@example.org', password: 'four quiet words here' });
    expect(await at.page('/')).toContain(isPressing);
    await read(at.ada, [id], 'From the nose');
    expect(await at.page('/')).not.toContain(isPressing);
  });
});

describe('the listening page', () => {
  it('says beside the note when notes are read, in the clinic’s words where it has some', async () => {
    const page = async () => (await at.guest().get(at.rosaLink)).text();
    expect(await page()).toContain(
      'Your clinic reads notes on working days. It may take a few days. <strong>It is not for emergencies.',
    );
    const notesReading = 'We read notes on Tuesdays and Fridays.';
    await at.ada.submit('/colleagues/contact', { phone: '0100 555', emergencyNumber: '112', notesReading });
    const said = await page();
    expect(said).toContain(`${notesReading} <strong>It is not for emergencies.`);
    expect(said).toMatch(/data-question="note".*href="tel:112"/s);
    expect(said).toMatch(/data-view="note-words".*A note is not a call for help.*Tell my clinic now/s);
    expect(await at.page('/colleagues')).toContain(notesReading);
  });

  it('brings the words that it looks for, and does not ask anybody to tick that they want to die', async () => {
    const page = await (await at.guest().get(at.rosaLink)).text();
    const words = JSON.parse(/id="warning-words">([^<]+)</.exec(page)?.[1] ?? 'null');
    expect(words.groups.length).toBeGreaterThan(10);
    expect(page).not.toMatch(/name="sign" value="dark-thoughts"/);
    expect(page, 'but what to do then is there').toMatch(/data-sign="dark-thoughts" data-emergency/);
  });
});

describe('a note with a warning in one report', () => {
  const told = async () => {
    await at.clinic.service.stop();
    const store = await openStore({ kind: 'sqlite', file: join(at.clinic.folder, 'clinic.db') });
    const rows = await store.read((db) =>
      db
        .selectFrom('delivery')
        .select(['kind', 'subject', 'slotDueAtMs', 'forAtMs'])
        .where('kind', 'in', ['warning', 'note'])
        .execute(),
    );
    await store.close();
    await at.clinic.restart();
    await at.ada.post('/sign-in', owner);
    return rows.filter(({ slotDueAtMs, forAtMs }) => slotDueAtMs === forAtMs);
  };

  it('is told once, and the page has both, in whatever order they come', { timeout: 60_000 }, async () => {
    const { session } = await at.firstSession(at.rosaLink);
    for (const isWarningFirst of [true, false]) {
      const place = { listeningId: null, ...placeOf(session, idOf(at.rosaPath)), atMs: Date.now() };
      // Items are kept in the order of their ids, which a phone makes up.
      const [low, high] = [randomUUID(), randomUUID()].sort();
      const warning = {
        ...{ kind: 'warning', id: isWarningFirst ? low : high, ...place },
        ...{ signs: ['chest-pain'], positionMs: null },
      };
      const note = `I fell, and it hurts (${isWarningFirst})`;
      const checkIn = {
        ...{ ...place, kind: 'check-in', id: isWarningFirst ? high : low, listeningId: randomUUID() },
        answers: { done: 'some', note },
      };
      const before = new Set((await told()).map(({ subject }) => subject));
      expect((await at.report(at.rosaLink, [warning, checkIn])).status).toBe(200);
      const now = (await told()).filter(({ subject }) => !before.has(subject));
      expect(now.map(({ kind, subject }) => ({ kind, subject }))).toEqual([
        { kind: 'warning', subject: warning.id },
      ]);
      const page = await at.page(at.rosaPath);
      for (const fact of ['Pain or pressure in my chest', note]) expect(page).toContain(fact);
    }
    const alone = await write('I fell again');
    expect(
      (await told()).map(({ subject }) => subject),
      'a report of its own',
    ).toContain(alone);
  });
});
