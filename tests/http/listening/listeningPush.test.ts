import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import webPush from 'web-push';
import { addPerson, giveLink } from '../../support/clinic.js';
import { idOf, ListeningClinic } from '../../support/listener.js';
import { agree, contactsIn, newSubscription, trailOf } from '../../support/reminded.js';

let at: ListeningClinic;

beforeAll(async () => {
  at = await ListeningClinic.open();
});
afterAll(() => at.clinic.remove());

const post = (path: string, body: unknown) =>
  fetch(new URL(path, at.clinic.service.address), {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
const isOn = async (response: Response) => [response.status, Object(await response.json()).isOn];
const phones = () => contactsIn(at.clinic).filter(({ channel }) => channel === 'push');
const standing = () => phones().filter(({ endedWhy }) => endedWhy === null);
const endpointOf = ({ address }: { address: string }) => JSON.parse(address).endpoint;

describe('reminders on a phone', () => {
  it('are offered and taken only where the patient agreed to them', async () => {
    const subscription = newSubscription();
    expect((await at.planOf(at.rosaLink)).pushKey).toBeUndefined();
    expect((await post(`${at.rosaLink}push`, subscription)).status).toBe(409);
    expect(phones()).toEqual([]);
    await agree(at.ada, at.rosaPath, 'reminders');
    const { pushKey } = await at.planOf(at.rosaLink);
    // RFC 8292, section 3.2: a point of P-256, uncompressed (X9.62), as base64url.
    const point = Buffer.from(pushKey ?? '', 'base64url');
    expect([point.length, point[0]]).toEqual([65, 4]);
    expect(await isOn(await post(`${at.rosaLink}push`, subscription))).toEqual([200, true]);
    const [contact] = standing();
    expect(contact?.patientId).toBe(idOf(at.rosaPath));
    expect(trailOf(at.clinic, 'push-started')).toEqual([contact?.id]);
  });

  it('are kept as an outside library can encrypt to', async () => {
    const [contact] = standing();
    const address = JSON.parse(contact?.address ?? '{}');
    const { body, headers } = webPush.generateRequestDetails(address, 'hello');
    expect(headers['Content-Encoding']).toBe('aes128gcm');
    expect(body?.length).toBeGreaterThan(80);
  });

  it('are the same contact when a browser says so again, and end when it says that', async () => {
    const subscription = newSubscription();
    for (let times = 0; times < 2; times += 1) await post(`${at.rosaLink}push`, subscription);
    const same = () => phones().filter((phone) => endpointOf(phone) === subscription.endpoint);
    expect(same()).toHaveLength(1);
    const { endpoint } = subscription;
    expect(await isOn(await post(`${at.rosaLink}push/known`, { endpoint }))).toEqual([200, true]);
    expect(await isOn(await post(`${at.rosaLink}push/end`, subscription))).toEqual([200, false]);
    expect(same().map(({ endedWhy }) => endedWhy)).toEqual(['removed']);
    expect(await isOn(await post(`${at.rosaLink}push/known`, { endpoint }))).toEqual([200, false]);
    expect(trailOf(at.clinic, 'push-stopped')).toEqual(same().map(({ id }) => id));
    expect((await post(`${at.rosaLink}push/end`, subscription)).status, 'again').toBe(200);
  });

  it('stay on five of them, the oldest giving way', async () => {
    const before = standing().map(({ id }) => id);
    for (let count = 0; count < 5; count += 1) await post(`${at.rosaLink}push`, newSubscription());
    expect(standing()).toHaveLength(5);
    const replaced = phones().filter(({ endedWhy }) => endedWhy === 'replaced');
    expect(replaced.map(({ id }) => id)).toEqual(before);
  });

  it('take nothing that is no subscription, or that leads into a network of ours', async () => {
    const good = newSubscription();
    const wrong = [
      null,
      [],
      'https://push.example.org/a',
      { ...good, endpoint: 'http://push.example.org/a' },
      { ...good, endpoint: 'https://127.0.0.1/a' },
      { ...good, endpoint: 'https://192.168.0.1/a' },
      { ...good, endpoint: 'javascript:alert(1)' },
      { ...good, keys: { ...good.keys, auth: 'AAAA' } },
      { ...good, keys: { ...good.keys, p256dh: Buffer.alloc(65, 4).toString('base64url') } },
      { endpoint: good.endpoint },
    ];
    const count = phones().length;
    for (const body of wrong) {
      expect((await post(`${at.rosaLink}push`, body)).status, JSON.stringify(body)).toBe(400);
    }
    const large = { ...good, endpoint: `https://push.example.org/${'a'.repeat(20_000)}` };
    expect((await post(`${at.rosaLink}push`, large)).status).toBe(413);
    expect(phones()).toHaveLength(count);
  });

  it('are a caregiver’s where one of those whom they care for agreed, and know nothing of the patient’s', async () => {
    await at.ada.submit(`${at.rosaPath}/caregivers`, { name: 'Jule Lind', relation: 'daughter' });
    const caregiverId = /\/caregivers\/([\w-]{36})\/link/.exec(await at.page(at.rosaPath))?.[1] ?? '';
    const { path } = await giveLink(at.ada, `${at.rosaPath}/caregivers/${caregiverId}`);
    expect((await at.planOf(path)).pushKey, 'the patient’s own agreement is not hers').toBeUndefined();
    await agree(at.ada, at.rosaPath, 'caregiver-reminded', { caregiverId });
    expect((await at.planOf(path)).pushKey).toBeDefined();
    const subscription = newSubscription();
    expect(await isOn(await post(`${path}push`, subscription))).toEqual([200, true]);
    const hers = standing().filter(({ caregiverPersonId }) => caregiverPersonId !== null);
    expect(hers.map(endpointOf)).toEqual([subscription.endpoint]);
    const rosas = standing().find(({ patientId }) => patientId !== null);
    const foreign = { endpoint: endpointOf({ address: rosas?.address ?? '' }) };
    expect(await isOn(await post(`${path}push/known`, foreign))).toEqual([200, false]);
    await post(`${path}push/end`, foreign);
    expect(standing().map(({ id }) => id)).toContain(rosas?.id);
    await agree(at.ada, at.rosaPath, 'caregiver-reminded', { caregiverId, isGiven: '' });
    expect((await at.planOf(path)).pushKey, 'taken back').toBeUndefined();
  });

  it('end with the link, whether it is taken or replaced, and with no other’s', async () => {
    const path = await addPerson(at.ada, { name: 'Emil Tarn', zone: 'Europe/Vienna' });
    await agree(at.ada, path, 'reminders');
    const his = () => phones().filter(({ patientId }) => patientId === idOf(path));
    const others = standing().map(({ id }) => id);
    const first = (await giveLink(at.ada, path)).path;
    await post(`${first}push`, newSubscription());
    const second = (await giveLink(at.ada, path)).path;
    expect(his().map(({ endedWhy }) => endedWhy)).toEqual(['removed']);
    expect((await post(`${first}push`, newSubscription())).status).toBe(404);
    await post(`${second}push`, newSubscription());
    expect((await at.ada.submit(`${path}/link/end`, {})).status).toBe(303);
    expect(his().map(({ endedWhy }) => endedWhy)).toEqual(['removed', 'removed']);
    expect(standing().map(({ id }) => id)).toEqual(others);
  });

  it('need the PIN where the link does', async () => {
    const { path } = await giveLink(at.ada, at.rosaPath, { pin: '4711' });
    at.rosaLink = path;
    const answer = await post(`${path}push`, newSubscription());
    expect([answer.status, await answer.json()]).toEqual([401, { problem: 'pin' }]);
    at.rosaLink = (await giveLink(at.ada, at.rosaPath)).path;
  });

  it('can be asked for only so often', async () => {
    const { endpoint } = newSubscription();
    const statuses = [];
    for (let times = 0; times < 121; times += 1)
      statuses.push((await post(`${at.rosaLink}push/known`, { endpoint })).status);
    expect([statuses.at(0), statuses.at(119), statuses.at(120)]).toEqual([200, 200, 429]);
  });
});

it('logs no address of a phone', () => {
  const log = at.clinic.logged.join('\n');
  expect(log).toContain('"route":"/l/:token/push"');
  for (const { address } of phones()) {
    const { endpoint, keys } = JSON.parse(address);
    for (const secret of [endpoint, keys.auth, keys.p256dh]) expect(log).not.toContain(secret);
  }
});
