import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { channelWhys } from '../../src/channels/whys.js';
import { unsentReasons } from '../../src/schedule/sending.js';
import { addDays, isoDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import { addContact } from '../../src/store/contacts.js';
import { insertDeliveries, type NewDelivery } from '../../src/store/deliveries.js';
import { type Db, openStore } from '../../src/store/openStore.js';
import { openWords } from '../../src/web/words.js';
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
} from './clinic.js';

/** Nothing answers there: no message of these tests leaves the machine. */
const settings = {
  STILLCOUNT_MAIL_URL: 'smtp://127.0.0.1:9',
  STILLCOUNT_MAIL_FROM: 'clinic@example.org',
  STILLCOUNT_TEXT_URL: 'http://127.0.0.1:9/messages',
  STILLCOUNT_ADDRESS: 'https://clinic.example.org',
  STILLCOUNT_TEXT_SECRET: 'a secret of these tests, and long enough',
};
const colleague = { name: 'Ben Okoro', email: 'ben@example.org', password: 'another long password' };
const zone = owner.zone;

let clinic: TestClinic;
let ada: Visitor;
let ben: Visitor;
let eve: Visitor;
/** Noon of the patient's next day: between two sessions, whenever the tests run. */
let nowMs: number;
let today: string;

beforeAll(async () => {
  ({ clinic, ada } = await openClinicWithPerson(settings));
  const eveLink = await linkForAnotherClinic(clinic);
  eve = new Visitor(() => clinic.service.address);
  await eve.post(new URL(eveLink).pathname, { ...owner, email: 'eve@example.org' });
  today = addDays(isoDayIn(Date.now(), zone), 1);
  nowMs = wallClockInstant(today, '12:00', zone);
  clinic.clock.aheadMs = nowMs - Date.now();
  await ada.post('/sign-in', owner);
  const invited = await (await ada.submit('/colleagues', { role: 'read-only' })).text();
  ben = new Visitor(() => clinic.service.address);
  await ben.post(`/${/join\/[\w-]{43}/.exec(invited.replaceAll('&#x2F;', '/'))?.[0]}`, colleague);
  await signIn();
}, 60_000);
afterAll(() => clinic.remove());

/** The text of a page without its marks, so that sentences can be read across them. */
async function read(answer: Promise<Response>): Promise<string> {
  const page = await (await answer).text();
  return page
    .replace(/<head>.*?<\/head>/s, '')
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll('&#x2F;', '/')
    .replaceAll('&#39;', "'")
    .replaceAll('&amp;', '&')
    .replaceAll(/\s+/g, ' ')
    .replaceAll(/ ([.,:;)])/g, '$1')
    .replaceAll('( ', '(');
}
const html = async (path: string) => (await (await ada.get(path)).text()).replaceAll('&#x2F;', '/');

/** A person who was screened; `path` is that of their page. */
async function newPerson(more: Record<string, string> = {}): Promise<string> {
  const path = await addPerson(ada, { ...person, ...more });
  await screen(ada, path, []);
  return path;
}

async function newCaregiver(path: string, more: Record<string, string> = {}): Promise<string> {
  const known = new Set((await html(path)).match(/caregivers\/[\w-]{36}\/end/g));
  await ada.submit(`${path}/caregivers`, { name: 'Tom Lind', ...more });
  const added = ((await html(path)).match(/caregivers\/[\w-]{36}\/end/g) ?? []).find(
    (each) => !known.has(each),
  );
  return added?.split('/')[1] ?? expect.unreachable('no caregiver was linked');
}

/** A day as pages write it, by the formatter of the platform. */
const inWords = (day: string) =>
  new Intl.DateTimeFormat('en-GB', { dateStyle: 'long', timeZone: 'UTC' }).format(Date.parse(day));

async function signIn(): Promise<void> {
  await ada.post('/sign-in', owner);
  await eve.post('/sign-in', { ...owner, email: 'eve@example.org' });
  await ben.post('/sign-in', colleague);
}

/** Does something by a later clock, and sets it back. */
async function dayLater<Done>(days: number, act: () => Promise<Done>): Promise<Done> {
  clinic.clock.aheadMs += days * 86_400_000;
  await signIn();
  const done = await act();
  clinic.clock.aheadMs -= days * 86_400_000;
  // What was over by the later clock has ended for good.
  await signIn();
  return done;
}

const agree = (path: string, kind: string, caregiverId = '') =>
  ada.submit(`${path}/consents`, { kind, caregiverId, isGiven: 'yes', onDate: today });
const pageOf = (path: string) => read(ada.get(`${path}/reminders`));

describe('who is reached', () => {
  it('says what is missing, and what will be sent once nothing is', async () => {
    const path = await newPerson();
    const before = await pageOf(path);
    expect(before).toContain('Nothing: no program runs.');
    expect(before).toContain('Rosa Lind Has not agreed to be reminded.');
    expect(before).toContain('No address.');
    expect(before).toContain('No listening link.');
    await signShortProgram(ada, path);
    expect(await pageOf(path)).toContain('Nobody who agreed to it can be reached');
    await agree(path, 'reminders');
    await giveLink(ada, path);
    const revision = /name="revision" value="(\d+)"/.exec(await html(`${path}/edit`))?.[1] ?? '';
    await ada.submit(`${path}/edit`, { ...person, revision, email: 'Rosa@example.org' });
    const after = await pageOf(path);
    for (const missing of ['Has not agreed', 'No address', 'No listening link', 'no mail server'])
      expect(after, missing).not.toContain(missing);
    expect(after).toMatch(/e-mail: rosa@example.org \((from the record|since [^)]*)\)/);
    // Noon has passed today's session; thirteen days are left of fourteen.
    expect(after.match(/09:00 It is time for the session: Rosa Lind \(e-mail\)/g)).toHaveLength(13);
  });

  it('lists caregivers as far as was agreed on about them', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    await signShortProgram(ada, path);
    const caregiverId = await newCaregiver(path, { email: 'tom@example.org' });
    expect(await pageOf(path)).toContain(
      'Tom Lind Rosa Lind has not agreed that they are reminded or told that a session was not begun.',
    );
    await agree(path, 'caregiver-reminded', caregiverId);
    const blind = await pageOf(path);
    expect(blind).toContain('Is not told when a session was not begun');
    expect(blind.match(/09:00 It is time for the session: Tom Lind \(e-mail\)/g)).toHaveLength(13);
    expect(blind).not.toContain('10:30');
    await agree(path, 'caregiver-told-not-begun', caregiverId);
    const told = /10:30 If the session of 09:00 was not begun: Tom Lind \(e-mail\)/g;
    expect((await pageOf(path)).match(told)).toHaveLength(13);
    await ada.submit(`${path}/caregivers/${caregiverId}/end`, {});
    expect(await pageOf(path)).not.toContain('Tom Lind');
  });

  it('takes numbers and speakers, ends them and sends there again', async () => {
    const path = await newPerson();
    const add = (to: string, more: Record<string, string> = {}, who = ada) =>
      who.submit(`${path}/contacts`, { to, ...more });
    const caregiverId = await newCaregiver(path);
    expect((await add('+43 (1) 234-5678')).headers.get('location')).toBe(`${path}/reminders#reached`);
    expect((await add('living-room', { caregiverId })).status).toBe(303);
    const page = await pageOf(path);
    expect(page).toMatch(/text message or speaker: \+4312345678 \(since/);
    expect(page).toMatch(/text message or speaker: living-room \(since/);
    for (const wrong of ['0664 1234567', '+0 123', '12345678', 'living room', '']) {
      const refused = await add(wrong);
      expect(refused.status, wrong).toBe(400);
      const answer = await refused.text();
      expect(answer).toContain('Number or speaker</strong>: a phone number with plus');
      if (wrong !== '') expect(answer, 'it is not lost').toContain(`name="to" value="${wrong}"`);
    }
    expect((await add('+4312345678', { caregiverId: crypto.randomUUID() })).status).toBe(404);
    expect((await add('+4312345678', {}, eve)).status).toBe(404);
    expect((await add('+4312345678', {}, ben)).status).toBe(403);

    const ends = [...(await html(`${path}/reminders`)).matchAll(/\/contacts\/[\w-]{36}\/end/g)];
    expect(ends).toHaveLength(2);
    const own = ends[0]?.[0] ?? '';
    for (const [who, status] of [
      [eve, 404],
      [ben, 403],
      [ada, 303],
    ] as const)
      expect((await who.submit(`${path}${own}`, {})).status).toBe(status);
    const ended = await pageOf(path);
    expect(ended).toMatch(/\+4312345678. Ended on [^:]+: ended here. Send there again/);
    const again = own.replace('/end', '/again');
    expect((await eve.submit(`${path}${again}`, {})).status).toBe(404);
    expect((await ada.submit(`${path}${again}`, {})).status).toBe(303);
    expect(await pageOf(path)).toMatch(/\+4312345678 \(since [^)]*\) Send nothing more there/);
    const other = await newPerson();
    expect((await ada.submit(`${other}${own}`, {})).status, 'of somebody else').toBe(404);
  });
});

describe('the calendar', () => {
  /** What the table of each month says, by day: the classes of its cell, and its text. */
  function cellsOf(page: string): Map<string, string> {
    const months = [...page.matchAll(/<caption>([^<]+)<\/caption>(.*?)<\/table>/gs)];
    return new Map(
      months.flatMap(([, month = '', table = '']) =>
        [...table.matchAll(/<td class="([^"]*)"><span class="date">(\d+)<\/span>(.*?)<\/td>/g)].map(
          ([, classes = '', date = '', rest = '']) => {
            const text = rest.replaceAll(/<[^>]+>/g, '').trim();
            const said = `${classes.trim()} ${text}`.trim().replaceAll(' ,', ',');
            return [`${date} ${month}`, said] as const;
          },
        ),
      ),
    );
  }

  it('shows this month and the next: times, breaks, first and last day and the day of review', async () => {
    const path = await newPerson();
    expect(await pageOf(path)).toContain('Calendar Empty: no program runs.');
    const [firstDay, lastDay, reviewOn] = [addDays(today, 1), addDays(today, 20), addDays(today, 10)];
    const days = { startsOn: firstDay, endsOn: lastDay, reviewOn };
    await signShortProgram(ada, path, { ...days, 'timesOfDay.0': '08:15' });
    const other = { 'program.title': 'Breathing', endsOn: today, 'timesOfDay.0': '19:00' };
    await signShortProgram(ada, path, other);
    const [fromDay, untilDay] = [addDays(today, 3), addDays(today, 5)];
    await ada.submit(`${path}/breaks`, { kind: 'illness', fromDay, untilDay });
    const cells = cellsOf(await html(`${path}/reminders`));
    const [year = 0, month = 0] = today.split('-').map(Number);
    // Day 0 of a month is the last one of the month before it (ECMAScript, Date.UTC).
    const lengths = [month, month + 1].map((each) => new Date(Date.UTC(year, each, 0)).getUTCDate());
    expect(cells.size, 'every day of two months').toBe((lengths[0] ?? 0) + (lengths[1] ?? 0));
    const expected: [string, string][] = [
      [today, 'is-marked is-today, today, Last day (Breathing) 19:00'],
      [firstDay, 'is-marked, First day (Short program) 08:15'],
      [addDays(today, 2), '08:15'],
      [fromDay, 'is-break, Illness'],
      [untilDay, 'is-break, Illness'],
      [addDays(today, 6), '08:15'],
      [reviewOn, 'is-marked, Look at it again on (Short program) 08:15'],
      [lastDay, 'is-marked, Last day (Short program) 08:15'],
      [addDays(today, 21), ''],
    ];
    for (const [day, said] of expected) expect(cells.get(inWords(day)), day).toBe(said);
    expect(await pageOf(path)).toContain(`Illness: ${inWords(fromDay)} to ${inWords(untilDay)}`);
  });
});

describe('what is agreed on', () => {
  const agreed = {
    quietFrom: '20:30',
    quietUntil: '08:00',
    graceMinutes: '30',
    caregiverAfterMinutes: '',
    quietAfterDays: '5',
  };

  it('is kept, and changes what will be sent', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    await signShortProgram(ada, path, { 'timesOfDay.0': '07:45' });
    await agree(path, 'reminders');
    expect(await pageOf(path)).toContain('The usual rules; nothing else was agreed on yet.');
    expect(await pageOf(path)).toContain('07:45 It is time for the session: Rosa Lind');
    const kept = await ada.submit(`${path}/reminders`, agreed);
    expect(kept.headers.get('location')).toBe(`${path}/reminders#agreed`);
    const page = await pageOf(path);
    expect(page).not.toContain('The usual rules');
    expect(page).toContain('08:00 It is time for the session, instead of 07:45, because of the quiet hours');
    await ada.submit(`${path}/reminders`, { ...agreed, quietUntil: '08:30' });
    const silent = await pageOf(path);
    expect(silent).toContain('Not sent because of the quiet hours: 13.');
    expect(silent).toContain('07:45 Not sent: the quiet hours last longer than it may be late.');
    const form = await html(`${path}/reminders`);
    expect(form).toContain('name="caregiverAfterMinutes" value=""');
    expect(form).toContain('name="quietAfterDays" value="5"');
    expect(await read(ada.get(`/records?patient=${path.split('/')[2]}`))).toContain(
      'Changed what is agreed on about reminders',
    );
  });

  it('has limits, and what was typed is shown again', async () => {
    const path = await newPerson();
    const wrong: [string, string, string][] = [
      ['graceMinutes', '4', 'a whole number from 5 to 240'],
      ['graceMinutes', '241', 'a whole number from 5 to 240'],
      ['graceMinutes', '', 'a whole number from 5 to 240'],
      ['graceMinutes', '7.5', 'a whole number from 5 to 240'],
      ['caregiverAfterMinutes', '9', 'a whole number from 10 to 240'],
      ['caregiverAfterMinutes', 'soon', 'a whole number from 10 to 240'],
      ['quietAfterDays', '0', 'a whole number from 1 to 14'],
      ['quietAfterDays', '15', 'a whole number from 1 to 14'],
      ['quietFrom', '25:00', 'a time such as 21:00'],
      ['quietUntil', '', 'a time such as 21:00'],
      ['quietFrom', '07:00', 'quiet hours last at most 13 hours; are the two the wrong way round?'],
    ];
    for (const [name, value, said] of wrong) {
      const quietUntil = name === 'quietFrom' ? '21:00' : agreed.quietUntil;
      const refused = await ada.submit(`${path}/reminders`, { ...agreed, quietUntil, [name]: value });
      const page = await refused.text();
      expect(refused.status, `${name} ${value}`).toBe(400);
      expect(page, `${name} ${value}`).toContain(said);
      expect(page, 'it is not lost').toContain(`name="${name}" value="${value}"`);
      const other = name === 'quietAfterDays' ? 'graceMinutes' : 'quietAfterDays';
      expect(page, 'nor is what was right').toContain(`name="${other}" value="${agreed[other]}"`);
    }
    expect(await pageOf(path), 'nothing was kept').toContain('The usual rules');
    const edges = { ...agreed, graceMinutes: '240', caregiverAfterMinutes: '10', quietAfterDays: '14' };
    expect((await ada.submit(`${path}/reminders`, edges)).status).toBe(303);
    const none = { ...agreed, quietFrom: '12:00', quietUntil: '12:00' };
    expect((await ada.submit(`${path}/reminders`, none)).status).toBe(303);
    expect(await read(ben.get(`${path}/reminders`))).toContain('Quiet hours None');
  });

  it('is changed by nobody who may only read, or is of another clinic', async () => {
    const path = await newPerson();
    expect((await ben.submit(`${path}/reminders`, agreed)).status).toBe(403);
    expect((await eve.submit(`${path}/reminders`, agreed)).status).toBe(404);
    expect((await eve.get(`${path}/reminders`)).status).toBe(404);
    const page = await (await ben.get(`${path}/reminders`)).text();
    expect(page).not.toContain(`action="${path}`.replaceAll('/', '&#x2F;'));
    expect(page).not.toContain('<form method="post" action="/patients');
    expect(page).toContain('What is agreed on');
  });
});

describe('breaks', () => {
  const holiday = () => ({
    kind: 'holiday',
    fromDay: addDays(today, 2),
    untilDay: addDays(today, 4),
    note: 'At the lake',
  });

  it('take their days out of what will be sent, end early and are taken back', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    await signShortProgram(ada, path);
    await agree(path, 'reminders');
    const sent = async () => ((await pageOf(path)).match(/It is time for the session/g) ?? []).length;
    expect(await sent()).toBe(13);
    expect((await ada.submit(`${path}/breaks`, holiday())).headers.get('location')).toBe(
      `${path}/reminders#breaks`,
    );
    expect(await sent()).toBe(10);
    expect(await pageOf(path)).toContain('At the lake');
    const place = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const end = (untilDay: string, who = ada) => who.submit(`${path}${place}/end`, { untilDay });
    expect((await end(addDays(today, 1))).status, 'before it begins').toBe(400);
    expect((await end('soon')).status).toBe(400);
    expect((await end(addDays(today, 2), ben)).status).toBe(403);
    expect((await end(addDays(today, 2), eve)).status).toBe(404);
    expect((await end(addDays(today, 2))).status).toBe(303);
    expect(await sent()).toBe(12);
    // With another last day it is another one; the first stays on record.
    const changed = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const back = (who: Visitor, of = path) => who.submit(`${of}${changed}/take-back`, {});
    expect((await back(ben)).status).toBe(403);
    expect((await back(ada, await newPerson())).status, 'of somebody else').toBe(404);
    expect((await back(ada)).status).toBe(303);
    expect(await sent()).toBe(13);
    expect((await back(ada)).status, 'a second time').toBe(404);
    const trail = await read(ada.get(`/records?patient=${path.split('/')[2]}`));
    for (const line of ['Wrote down a break', 'Changed the last day of a break', 'Took a break back'])
      expect(trail).toContain(line);
  });

  it('that cannot be are refused in plain words, and what was typed stays', async () => {
    const path = await newPerson();
    const refusals: [Record<string, string>, string][] = [
      [{ untilDay: addDays(today, 1) }, 'Last day</strong>: this lies before the first day'],
      [{ untilDay: '' }, 'Last day</strong>: please give one'],
      [{ untilDay: addDays(today, 400) }, 'Last day</strong>: a break lasts at most a year'],
      [{ fromDay: '2001-01-01' }, 'First day</strong>: this is more than a year away'],
      [{ fromDay: '' }, 'First day</strong>: a day such as'],
      [{ kind: 'hospital' }, 'Last day</strong>: leave this empty for a stay in hospital'],
      [{ kind: 'sabbatical' }, 'Why</strong>: please choose one'],
    ];
    for (const [change, said] of refusals) {
      const refused = await ada.submit(`${path}/breaks`, { ...holiday(), ...change });
      const page = await refused.text();
      expect(refused.status, said).toBe(400);
      expect(page).toContain(said);
      expect(page).toContain('name="note" value="At the lake"');
    }
    expect((await ben.submit(`${path}/breaks`, holiday())).status).toBe(403);
    expect((await eve.submit(`${path}/breaks`, holiday())).status).toBe(404);
    expect(await pageOf(path)).not.toContain('At the lake');
  });

  it('in hospital pause everything, and only a clinician who has screened again resumes', async () => {
    const path = await newPerson({ email: 'rosa@example.org' });
    const program = await signShortProgram(ada, path);
    await agree(path, 'reminders');
    const resume = () => ada.submit(`${program}/state`, { state: 'active', reason: 'Back home' });
    const stay = { kind: 'hospital', fromDay: addDays(today, -1), untilDay: '' };
    expect((await ada.submit(`${path}/breaks`, stay)).status).toBe(303);
    for (const page of [await read(ada.get(path)), await pageOf(path)])
      expect(page).toContain('The programs rest. Stay in hospital, since');
    expect(await read(ada.get(program))).toContain('Stay in hospital');
    const place = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const tooSoon = await ada.submit(`${path}${place}/end`, { untilDay: addDays(today, 1) });
    expect(tooSoon.status, 'nobody knows when it will be over').toBe(400);
    expect((await ada.submit(`${path}${place}/end`, { untilDay: today })).status).toBe(303);
    const asks = 'Screen again before the program goes on. What';
    for (const page of [await read(ada.get(path)), await pageOf(path)]) expect(page).toContain(asks);
    expect(await html(`${path}/reminders`)).toContain(`href="/patients/${path.split('/')[2]}/screening"`);
    expect(await pageOf(path), 'paused: nothing is to be sent').not.toContain('It is time for the session');
    const refused = await resume();
    expect(refused.status).toBe(400);
    expect(await read(Promise.resolve(refused))).toContain(
      'there was a stay in hospital since the last screening',
    );
    await screen(ada, path, []);
    for (const page of [await read(ada.get(path)), await pageOf(path)]) expect(page).not.toContain(asks);
    expect((await resume()).status).toBe(303);
    await dayLater(1, async () => {
      expect((await pageOf(path)).match(/It is time for the session/g)).toHaveLength(13);
    });
  });

  it('in hospital that were taken back once they had begun do not let anything go on by themselves', async () => {
    const path = await newPerson();
    const program = await signShortProgram(ada, path);
    await ada.submit(`${path}/breaks`, { kind: 'hospital', fromDay: addDays(today, 1), untilDay: '' });
    const place = /\/breaks\/[\w-]{36}/.exec(await html(`${path}/reminders`))?.[0] ?? '';
    const isPaused = async () => (await html(program)).includes('value="active"');
    expect(await isPaused(), 'it is yet to come').toBe(false);
    await dayLater(2, async () => {
      await ada.submit(`${path}${place}/take-back`, {});
      expect(await isPaused()).toBe(true);
    });
  });
});

/** Writes into the database of the service, which stands still meanwhile. */
async function behindTheScenes(write: (db: Db) => Promise<void>): Promise<void> {
  await clinic.service.stop();
  const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'clinic.db') });
  await store.write(write);
  await store.close();
  await clinic.restart();
}

async function failedDelivery(
  db: Db,
  about: { patientId: string | null; clinicianId: string; clinicId: string },
  why: string,
): Promise<void> {
  const { patientId, clinicianId, clinicId } = about;
  const owned = patientId === null ? { clinicianId } : { patientId };
  const contactId = await addContact(db, {
    clinicId,
    owner: owned,
    channel: 'mail',
    address: JSON.stringify('gone@example.org'),
    unsubscribeHashOf: (id) => id,
    nowMs,
  });
  const forAtMs = nowMs - 3_600_000;
  const planned: NewDelivery = {
    ...{ key: `${why} ${contactId}`, clinicId, patientId, contactId, forAtMs },
    ...{ kind: patientId === null ? 'digest' : 'due', nextAtMs: forAtMs, goodUntilMs: nowMs },
    ...{ prescriptionId: null, slot: null, slotDueAtMs: null, subject: null, caregiverId: null },
  };
  await insertDeliveries(db, [planned]);
  const failed = { state: 'failed', why, settledAtMs: nowMs - 60_000, attempts: 3 } as const;
  await db.updateTable('delivery').set(failed).where('key', '=', planned.key).execute();
}

describe('what could not be delivered', () => {
  it('is on the pages of the person and of the clinic in plain words, until somebody has seen it', async () => {
    const path = await newPerson({ name: 'Otto Fehr' });
    const patientId = path.split('/')[2] ?? '';
    await behindTheScenes(async (db) => {
      const { id: clinicianId, clinicId } = await db
        .selectFrom('clinician')
        .select(['id', 'clinicId'])
        .where('email', '=', owner.email)
        .executeTakeFirstOrThrow();
      await failedDelivery(db, { patientId, clinicianId, clinicId }, 'mail-no-such-address');
      await failedDelivery(db, { patientId: null, clinicianId, clinicId }, 'a-code-to-come');
      const reason = { patientId, clinicId, kind: 'not-delivered', subject: patientId } as const;
      await db
        .insertInto('attention')
        .values({ ...reason, sinceMs: nowMs })
        .execute();
    });
    const home = await html('/');
    expect(home).toContain(
      `<a href="/patients/${patientId}/reminders" aria-label="Look at the reminders: Otto Fehr"`,
    );
    expect(await read(ada.get('/'))).toMatch(
      /Could not be delivered [^:]+ at 11:00, e-mail for Ada Brandt \(The week\): the log of the service says more. I have seen this/,
    );
    expect(await read(eve.get('/')), 'another clinic').not.toContain('Could not be delivered');
    const alarm = 'e-mail for Otto Fehr (It is time for the session): there is no such e-mail address.';
    const line =
      /Could not be delivered: there is no such e-mail address. [^.]+ at 11:00, Otto Fehr, e-mail: It is time for the session./;
    expect(await pageOf(path)).toContain(alarm);
    expect(await pageOf(path), 'in the list of what was sent too').toMatch(line);
    expect((await ben.submit(`${path}/reminders/seen`, {})).status).toBe(403);
    expect((await eve.submit(`${path}/reminders/seen`, {})).status).toBe(404);
    expect((await ada.submit(`${path}/reminders/seen`, {})).status).toBe(303);
    expect(await pageOf(path)).not.toContain(alarm);
    expect(await pageOf(path), 'it stays in the list').toMatch(line);
    expect(await html('/')).not.toContain('Look at the reminders: Otto Fehr');
    expect((await ben.submit('/deliveries/seen', {})).status).toBe(403);
    expect((await eve.submit('/deliveries/seen', {})).status, 'her own, of which there are none').toBe(303);
    expect(await read(ada.get('/'))).toContain('Could not be delivered');
    expect((await ada.submit('/deliveries/seen', {})).status).toBe(303);
    expect(await read(ada.get('/'))).not.toContain('Could not be delivered');
  });

  it('has words for every reason that there is', async () => {
    const words = await openWords();
    for (const why of channelWhys) expect(words.channelWhys[why], why).toBeDefined();
    for (const why of unsentReasons) expect(words.unsent[why], why).toBeDefined();
    const codes = Object.keys(words.channelWhys);
    expect(
      codes.filter((code) => !channelWhys.some((why) => why === code)),
      'words for nothing',
    ).toEqual([]);
  });
});

describe('when a program is done', () => {
  it('is asked for day by day, refused in the words of the form, and told on the page of the version', async () => {
    const path = await newPerson();
    const other = {
      timesADay: '2',
      'timesOfDay.0': '09:00',
      'timesOfDay.1': '17:00',
      'weekdays.saturday.how': 'own',
      'weekdays.saturday.times.1': '10:30',
      'weekdays.sunday.how': 'none',
    };
    await expect(signShortProgram(ada, path, other), 'seven days of six').rejects.toThrow(
      'Days a week</strong>: more days a week than there are weekdays with a session',
    );
    const empty = { ...other, daysAWeek: '6', 'weekdays.friday.how': 'own' };
    await expect(signShortProgram(ada, path, empty)).rejects.toThrow('Friday</strong>: not a time of day');
    const backwards = { startsOn: addDays(today, 1), endsOn: today };
    await expect(signShortProgram(ada, path, backwards)).rejects.toThrow(
      'Last day</strong>: the last day lies before the first one',
    );
    const days = { startsOn: today, endsOn: addDays(today, 30), reviewOn: addDays(today, 14) };
    const program = await signShortProgram(ada, path, { ...other, daysAWeek: '6', ...days });
    const form = await html(`${program}/change`);
    expect(form).toMatch(/name="weekdays.saturday.how">.*?value="own" selected/);
    expect(form).toContain('name="weekdays.saturday.times.0" value="10:30"');
    expect(form).toMatch(/name="weekdays.sunday.how">.*?value="none" selected/);
    for (const [name, value] of Object.entries(days))
      expect(form).toContain(`name="${name}" value="${value}"`);
    const said = await read(ada.get(program));
    expect(said).toContain(
      'Mondays to Fridays at 09:00 and 17:00; Saturdays at 10:30; not on Sundays, from ',
    );
    expect(said).not.toContain('To be looked at again since');
    const later = await dayLater(31, () => read(ada.get(program)));
    expect(await dayLater(14, () => read(ada.get(path)))).toContain(
      `Short program To be looked at again since ${inWords(addDays(today, 14))}.`,
    );
    expect(later).toContain(`To be looked at again since ${inWords(addDays(today, 14))}.`);
    expect(later).toContain(`Its last day was ${inWords(addDays(today, 30))}.`);
  });
});

describe('the week by e-mail', () => {
  it('comes to whoever asks for it, also to those who may only read', async () => {
    for (const who of [ada, ben]) {
      expect(await read(who.get('/account'))).toContain('The week by e-mail Off.');
      expect((await who.submit('/account/digest', { wants: 'yes' })).status).toBe(303);
      expect(await read(who.get('/account'))).toContain('The week by e-mail On.');
    }
    expect(await read(eve.get('/account')), 'nobody else').toContain('The week by e-mail Off.');
    expect((await ada.submit('/account/digest', {})).status).toBe(303);
    expect(await read(ada.get('/account'))).toContain('The week by e-mail Off.');
    expect(await read(ada.get('/records'))).toContain('Asked for the week by e-mail');
  });
});
