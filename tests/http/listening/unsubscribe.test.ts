import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { setWantsDigest } from '../../../src/store/accounts/clinicians.js';
import { addContact, type ContactOwner, endContact } from '../../../src/store/people/contacts.js';
import type { ChannelName, ContactEnd } from '../../../src/store/schema/reminderSchema.js';
import { giveLink, person } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';
import { idOf, ListeningClinic } from '../../support/listener.js';
import {
  agree,
  clinicianIn,
  contactsIn,
  newSubscription,
  trailOf,
  unsubscribeHash,
  unsubscribePath,
  whileStopped,
} from '../../support/reminded.js';

let at: ListeningClinic;
let rosa: ContactOwner;
const rosaEmail = 'rosa@example.org';

beforeAll(async () => {
  at = await ListeningClinic.open();
  rosa = { patientId: idOf(at.rosaPath) };
  await at.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
  // Plans are made every ten seconds, and end what goes to an address that is not in the record.
  const record = await formOf(await at.ada.get(`${at.rosaPath}/edit`));
  await at.ada.submit(`${at.rosaPath}/edit`, { ...record, ...person, email: rosaEmail });
});
afterAll(() => at.clinic.remove());

/**
 * A contact of somebody, and the address in its messages that ends them.
 *
 * @param endedWhy how it has ended already, before any plan could
 */
async function reached(
  owner: ContactOwner,
  channel: ChannelName,
  address: unknown,
  endedWhy: ContactEnd | null = null,
) {
  const unsubscribeHashOf = await unsubscribeHash(at.clinic);
  const contact = { owner, channel, address: JSON.stringify(address), unsubscribeHashOf };
  const { clinicId } = clinicianIn(at.clinic);
  const id = await whileStopped(at.clinic, async (db) => {
    const added = await addContact(db, { clinicId, ...contact, nowMs: Date.now() });
    if (endedWhy !== null) await endContact(db, added, { why: endedWhy, nowMs: Date.now() });
    return added;
  });
  return { id, path: await unsubscribePath(at.clinic, id) };
}

const endsOf = (address: unknown) =>
  contactsIn(at.clinic)
    .filter((contact) => contact.address === JSON.stringify(address))
    .map(({ endedWhy }) => endedWhy);
/** As a mail program or a form sends it: no cookie, and nothing that says which page it comes from. */
const post = (path: string, body: URLSearchParams | FormData | null = null) =>
  fetch(new URL(path, at.clinic.service.address), { method: 'POST', body, redirect: 'manual' });
const heading = async (response: Response) => /<h1>([^<]+)</.exec(await response.text())?.[1];

describe('messages to a patient', () => {
  const address = rosaEmail;
  let path: string;

  it('are not ended by opening the page, however often, which says what would end and whom to call', async () => {
    ({ path } = await reached(rosa, 'mail', address));
    for (const method of ['GET', 'HEAD', 'GET']) {
      expect((await fetch(new URL(path, at.clinic.service.address), { method })).status).toBe(200);
    }
    expect(endsOf(address)).toEqual([null]);
    const answer = await at.guest().get(path);
    const page = await answer.text();
    expect(page).toContain('<h1>Stop these messages?</h1>');
    expect(page).toContain('Your program goes on as before.');
    expect(page).toContain('href="tel:010055500"');
    expect(page).not.toMatch(/<script|Rosa|rosa@/);
    expect(answer.headers.get('cache-control')).toBe('no-store');
    expect(answer.headers.get('referrer-policy')).toBe('no-referrer');
  });

  it('end with one POST of a mail program, without cookie, form token or redirect (RFC 8058, section 3.1)', async () => {
    const oneClick = new URLSearchParams({ 'List-Unsubscribe': 'One-Click' });
    const stopped = await post(path, oneClick);
    expect([stopped.status, await heading(stopped)]).toEqual([200, 'These messages have stopped']);
    expect(endsOf(address)).toEqual(['unsubscribed']);
    expect(trailOf(at.clinic, 'messages-stopped')).toHaveLength(1);
  });

  it('had ended already when it comes again, as the other kind of form that the RFC allows', async () => {
    const form = new FormData();
    form.set('List-Unsubscribe', 'One-Click');
    const again = await post(path, form);
    expect([again.status, await heading(again)]).toEqual([200, 'These messages were already stopped']);
    expect(await heading(await at.guest().get(path))).toBe('These messages were already stopped');
    expect(endsOf(address)).toEqual(['unsubscribed']);
    expect(trailOf(at.clinic, 'messages-stopped')).toHaveLength(1);
  });

  it('come again when they are wanted, and every message of before and after still ends them', async () => {
    const resumed = await post(`${path}/again`);
    expect([resumed.status, await heading(resumed)]).toEqual([200, 'You will get these messages again']);
    expect(endsOf(address)).toEqual(['unsubscribed', null]);
    expect(await heading(await post(`${path}/again`)), 'nothing is doubled').toBe(
      'You will get these messages again',
    );
    expect(endsOf(address)).toEqual(['unsubscribed', null]);
    const newer = contactsIn(at.clinic).find(({ endedWhy }) => endedWhy === null);
    expect(await heading(await post(path)), 'the link in an old message').toBe('These messages have stopped');
    expect(endsOf(address)).toEqual(['unsubscribed', 'unsubscribed']);
    await post(`${path}/again`);
    const newest = contactsIn(at.clinic).findLast(({ endedWhy }) => endedWhy === null);
    expect(newest?.id).not.toBe(newer?.id);
    await post(await unsubscribePath(at.clinic, newest?.id ?? ''));
    expect(endsOf(address)).toEqual(['unsubscribed', 'unsubscribed', 'unsubscribed']);
  });

  it.each<ContactEnd>(['removed', 'gone', 'bounced', 'replaced'])(
    'that somebody else ended (%s) are not had again from here',
    async (why) => {
      const to = `${why}@example.org`;
      const { path: ended } = await reached(rosa, 'mail', to, why);
      const page = await (await at.guest().get(ended)).text();
      expect(page).toContain('<h1>These messages have ended</h1>');
      expect(page).not.toContain('<form');
      for (const tried of [ended, `${ended}/again`])
        expect(await heading(await post(tried)), tried).toBe('These messages have ended');
      expect(endsOf(to)).toEqual([why]);
    },
  );

  it('on a phone are not had again after its link has ended: it may be in other hands', async () => {
    await agree(at.ada, at.rosaPath, 'reminders');
    const subscription = newSubscription();
    const body = JSON.stringify(subscription);
    const headers = { 'content-type': 'application/json' };
    const turnedOn = new URL(`${at.rosaLink}push`, at.clinic.service.address);
    expect((await fetch(turnedOn, { method: 'POST', headers, body })).status).toBe(200);
    const phones = () => contactsIn(at.clinic).filter(({ channel }) => channel === 'push');
    const onPhone = await unsubscribePath(at.clinic, phones()[0]?.id ?? '');
    await post(onPhone);
    expect(await heading(await post(`${onPhone}/again`))).toBe('You will get these messages again');
    await post(onPhone);
    at.rosaLink = (await giveLink(at.ada, at.rosaPath)).path;
    expect(await heading(await post(`${onPhone}/again`))).toBe('These messages have ended');
    expect(phones().map(({ endedWhy }) => endedWhy)).toEqual(['unsubscribed', 'unsubscribed']);
  });
});

it('says to a caregiver that nothing is told here any more when something is wrong', async () => {
  await at.ada.submit(`${at.rosaPath}/caregivers`, { name: 'Jule Lind', relation: 'daughter' });
  const caregiverPersonId = /\/caregivers\/([\w-]{36})\/link/.exec(await at.page(at.rosaPath))?.[1] ?? '';
  const { path } = await reached({ caregiverPersonId }, 'text', { to: '+4312345678' });
  expect(await (await at.guest().get(path)).text()).toContain('when something is wrong');
  expect(await heading(await post(path))).toBe('These messages have stopped');
  expect(endsOf({ to: '+4312345678' })).toEqual(['unsubscribed']);
});

it('ends a clinician’s letters about the week and leaves her address for warning signs', async () => {
  const address = 'ada@example.org';
  const { id: clinicianId } = clinicianIn(at.clinic);
  const { path } = await reached({ clinicianId }, 'mail', address);
  await whileStopped(at.clinic, (db) => setWantsDigest(db, clinicianId, true));
  expect(await (await at.guest().get(path)).text()).toContain(
    'will still get an email when a patient reports a warning sign',
  );
  expect(await heading(await post(path))).toBe('These messages have stopped');
  expect(clinicianIn(at.clinic).wantsDigest).toBe(0);
  expect(endsOf(address)).toEqual([null]);
  expect(await heading(await post(path))).toBe('These messages were already stopped');
  expect(await heading(await post(`${path}/again`))).toBe('You will get these messages again');
  expect(clinicianIn(at.clinic).wantsDigest).toBe(1);
});

describe('a token that never was', () => {
  const guessed = `/unsubscribe/${'A'.repeat(43)}`;

  it('is answered word for word as a link that does not work, whatever is asked', async () => {
    const dead = await at.guest().get(`/l/${'A'.repeat(43)}/`);
    const said = [dead.status, await dead.text()];
    expect(said[0]).toBe(404);
    for (const answer of [
      await at.guest().get(guessed),
      await post(guessed),
      await post(`${guessed}/again`),
      await at.guest().get('/unsubscribe/%00'),
    ])
      expect([answer.status, await answer.text()]).toEqual(said);
  });

  it('can be tried only so often, together with links', async () => {
    const statuses = new Set<number>();
    for (let times = 0; times < 300; times += 1) statuses.add((await at.guest().get(guessed)).status);
    expect([...statuses], 'the limit was reached on the way').toEqual([404, 429]);
    expect((await at.guest().get(`/l/${'B'.repeat(43)}/`)).status).toBe(429);
    const [known] = contactsIn(at.clinic);
    const path = await unsubscribePath(at.clinic, known?.id ?? '');
    expect((await at.guest().get(path)).status, 'who has a right one is let through').toBe(200);
  });
});

it('logs no token', async () => {
  const log = at.clinic.logged.join('\n');
  expect(log).toContain('"route":"/unsubscribe/:token"');
  for (const { id } of contactsIn(at.clinic)) {
    expect(log).not.toContain((await unsubscribePath(at.clinic, id)).split('/')[2]);
  }
  expect(log).not.toContain('example.org');
});
