import { createECDH } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Channel, Outcome } from '../../src/channels/channel.js';
import { newVapidKeys, openPush, pushAddressSchema, vapidKeysSchema } from '../../src/channels/push.js';
import { goOn, sampleMessage } from './sample.js';
import { decryptPush, readVapid, TestBrowser } from './subscription.js';
import { openReceiver, type TestReceiver } from './webReceiver.js';

const keys = newVapidKeys();
const contact = 'mailto:reminders@clinic.example';

let service: TestReceiver;
let channel: Channel;
let browser: TestBrowser;
beforeEach(async () => {
  service = await openReceiver();
  channel = openPush({ keys, contact, allowsLoopback: true });
  browser = new TestBrowser(`${service.address}/push/JzLQ3raZJfFBR0aqvOMsLrt54w4rJUsV`);
});
afterEach(async () => {
  await channel.close();
  await service.stop();
});

const send = (message = sampleMessage()) => channel.send(browser.subscription(), message, goOn);

async function received(message = sampleMessage()) {
  expect(await send(message)).toEqual({ outcome: 'sent' });
  const request = service.received.at(-1);
  if (request === undefined) throw new Error('nothing was received');
  return request;
}

describe('the reader of these tests', () => {
  it('reads the example of RFC 8291, section 5', () => {
    // Keys and message of the example, from memory; that they fit together is what the encryption itself checks.
    const own = createECDH('prime256v1');
    own.setPrivateKey(Buffer.from('q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94', 'base64url'));
    const body = Buffer.from(
      'DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK' +
        '6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN',
      'base64url',
    );
    const auth = Buffer.from('BTBZMqHH6r4Tts7J_aSIgg', 'base64url');
    const reader = {
      auth,
      publicKey: own.getPublicKey(),
      sharedSecretWith: (key: Buffer) => own.computeSecret(key),
    };
    expect(decryptPush(body, reader)).toBe('When I grow up, I want to be a watermelon');
  });
});

describe('a push message', () => {
  it('can be read by the browser that it is for, and by no other', async () => {
    const { body } = await received(sampleMessage({ isUrgent: true, subject: 'Zeit für 体操' }));
    expect(JSON.parse(browser.decrypt(body))).toEqual({
      title: 'Zeit für 体操',
      body: 'It is time for your exercises. They take 15 minutes.',
      address: 'https://clinic.example/l/abc123/',
      tag: expect.stringMatching(/^[\w-]{32}$/),
      isUrgent: true,
    });
    expect(() => new TestBrowser(browser.endpoint).decrypt(body)).toThrow();
    expect(body.includes('体操')).toBe(false);
  });

  it('opens nothing when there is nothing to open', async () => {
    const { body } = await received(sampleMessage({ link: null }));
    expect(JSON.parse(browser.decrypt(body))).toMatchObject({ address: null });
  });

  it('is encrypted anew each time', async () => {
    const message = sampleMessage();
    const [first, again] = [await received(message), await received(message)];
    expect(first.body.equals(again.body)).toBe(false);
    expect(browser.decrypt(first.body)).toBe(browser.decrypt(again.body));
  });

  it('says for how long it is good, and takes the place of its own copy (RFC 8030, section 5)', async () => {
    const message = sampleMessage({ goodForSeconds: 1_799.6 });
    const { method, path, headers, body } = await received(message);
    expect({ method, path }).toEqual({ method: 'POST', path: '/push/JzLQ3raZJfFBR0aqvOMsLrt54w4rJUsV' });
    expect(headers).toMatchObject({ ttl: '1799', urgency: 'high', 'content-encoding': 'aes128gcm' });
    expect(headers.topic).toMatch(/^[\w-]{1,32}$/);
    expect(JSON.parse(browser.decrypt(body)).tag).toBe(headers.topic);
  });

  it('that is no longer good asks not to be kept', async () => {
    expect((await received(sampleMessage({ goodForSeconds: -5 }))).headers.ttl).toBe('0');
  });

  it('is signed by the service for this push service, for at most a day (RFC 8292, section 2)', async () => {
    const { headers } = await received();
    const { publicKey, claims } = readVapid(headers.authorization ?? '');
    expect(publicKey).toBe(keys.publicKey);
    expect(claims).toMatchObject({ aud: service.address, sub: contact });
    const lastsSeconds = Number(claims.exp) - Date.now() / 1_000;
    expect(lastsSeconds).toBeGreaterThan(0);
    expect(lastsSeconds).toBeLessThanOrEqual(86_400);
  });

  it('signed by another key would be noticed', async () => {
    const { headers } = await received();
    const other = newVapidKeys().publicKey;
    expect(() => readVapid((headers.authorization ?? '').replace(keys.publicKey, other))).toThrow(
      'another key',
    );
  });
});

describe('what a push service answers', () => {
  // RFC 8030: 201 taken; 404 and 410 no such subscription; 413 too large; 429 too many.
  it.each<[number, Outcome]>([
    [200, { outcome: 'sent' }],
    [202, { outcome: 'sent' }],
    [404, { outcome: 'gone', why: 'push-gone' }],
    [410, { outcome: 'gone', why: 'push-gone' }],
    [429, { outcome: 'later', why: 'push-busy' }],
    [500, { outcome: 'later', why: 'push-busy' }],
    [503, { outcome: 'later', why: 'push-busy' }],
    [504, { outcome: 'unknown' }],
    [400, { outcome: 'refused', why: 'push-refused' }],
    [403, { outcome: 'refused', why: 'push-refused' }],
    [413, { outcome: 'refused', why: 'push-refused' }],
  ])('%i', async (status, outcome) => {
    service.behaviour = status;
    expect(await send()).toEqual(outcome);
  });

  it.each([301, 302, 307, 308])('%i is not followed', async (status) => {
    service.behaviour = status;
    service.answerHeaders = { location: `${service.address}/elsewhere` };
    expect(await send()).toEqual({ outcome: 'refused', why: 'push-refused' });
    expect(service.received).toHaveLength(1);
  });

  it('without an end is not listened to', async () => {
    service.behaviour = 'endless';
    expect(await send()).toEqual({ outcome: 'sent' });
    await service.sockets.whenNone();
  });
});

describe('a subscription', () => {
  const at = (endpoint: string) => new TestBrowser(endpoint).subscription();

  it('of a push service is taken', () => {
    const subscription = at('https://push.example/send/abc?d=1');
    expect(pushAddressSchema.parse(subscription)).toEqual({
      endpoint: 'https://push.example/send/abc?d=1',
      keys: subscription.keys,
    });
  });

  it.each([
    'http://push.example/1',
    'https://localhost/1',
    'https://127.0.0.1/1',
    'https://127.1/1',
    'https://0x7f000001/1',
    'https://2130706433/1',
    'https://[::1]/1',
    'https://[::ffff:127.0.0.1]/1',
    'https://10.0.0.5/1',
    'https://192.168.1.1/1',
    'https://169.254.169.254/latest/meta-data',
    'https://[fe80::1]/1',
    'https://[fd00::1]/1',
    'https://router/1',
    'https://printer.local/1',
    'https://db.internal/1',
    'https://user@push.example/1',
    'file:///etc/passwd',
    'not an address',
    '',
  ])('that leads to %s is refused', async (endpoint) => {
    expect(pushAddressSchema.safeParse(at(endpoint)).success).toBe(false);
    const strict = openPush({ keys, contact });
    expect(await strict.send(at(endpoint), sampleMessage(), goOn)).toEqual({
      outcome: 'gone',
      why: 'address-unreadable',
    });
    await strict.close();
  });
});

describe('the keys of the service', () => {
  it('are a pair on the curve P-256, and another each time', () => {
    const pair = newVapidKeys();
    const curve = createECDH('prime256v1');
    curve.setPrivateKey(Buffer.from(pair.privateKey, 'base64url'));
    expect(curve.getPublicKey().toString('base64url')).toBe(pair.publicKey);
    expect(newVapidKeys()).not.toEqual(pair);
  });

  it.each([
    {},
    { publicKey: '', privateKey: '' },
    { ...keys, privateKey: 'AAAA' },
    { ...keys, publicKey: 'ä'.repeat(87) },
  ])('are checked when they are read: %j', (read) => {
    expect(vapidKeysSchema.safeParse(read).success).toBe(false);
  });
});
