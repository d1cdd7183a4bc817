import { execFileSync } from 'node:child_process';
import { createHmac } from 'node:crypto';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Channel, Outcome } from '../../src/channels/channel.js';
import { openTextGateway } from '../../src/channels/text.js';
import { checkSignature, signatureOf } from '../../src/channels/textSignature.js';
import { goOn, sampleMessage } from './sample.js';
import { openReceiver, type TestReceiver } from './webReceiver.js';

const secret = 'a secret of thirty-two characters or more';
const nowMs = Date.UTC(2026, 10, 25, 7, 30, 0, 250);

let gateway: TestReceiver;
let channel: Channel;
beforeEach(async () => {
  gateway = await openReceiver();
  channel = openTextGateway({ url: new URL(`${gateway.address}/messages?from=clinic`), secret }, () => nowMs);
});
afterEach(async () => {
  await channel.close();
  await gateway.stop();
});

const send = (message = sampleMessage(), to = '+4930123456') => channel.send({ to }, message, goOn);

async function received(message = sampleMessage(), to?: string) {
  expect(await send(message, to)).toEqual({ outcome: 'sent' });
  const request = gateway.received.at(-1);
  if (request === undefined) throw new Error('nothing was received');
  const header = (name: string) => String(request.headers[name]);
  const signed = {
    timestamp: header('stillcount-timestamp'),
    signature: header('stillcount-signature'),
    body: request.body,
  };
  return { ...request, signed };
}

/** By another program: the command line of OpenSSL. */
function hmacByOpenssl(key: string, text: Buffer): string {
  const output = execFileSync(
    'openssl',
    ['dgst', '-sha256', '-mac', 'HMAC', '-macopt', `hexkey:${Buffer.from(key).toString('hex')}`],
    {
      input: text,
    },
  );
  return output.toString().trim().split(/\s/).at(-1) ?? '';
}

describe('a text message', () => {
  it('is one POST of JSON', async () => {
    const message = sampleMessage({ isUrgent: true, kind: 'not-begun' });
    const { method, path, headers, body } = await received(message);
    expect({ method, path }).toEqual({ method: 'POST', path: '/messages?from=clinic' });
    expect(headers['content-type']).toBe('application/json; charset=utf-8');
    expect(JSON.parse(body.toString())).toEqual({
      format: 'stillcount-message/1',
      key: message.key,
      kind: 'not-begun',
      to: '+4930123456',
      language: 'en',
      text: 'It is time for your exercises. They take 15 minutes. https://clinic.example/l/abc123/',
      spoken: 'It is time for your exercises. They take 15 minutes.',
      isUrgent: true,
      sentAt: '2026-11-25T07:30:00.250Z',
    });
    expect(headers['idempotency-key']).toBe(message.key);
  });

  it('may go to a speaker, and then has no address to read out', async () => {
    const { body } = await received(
      sampleMessage({ link: null, short: 'Es ist Zeit für Übungen.' }),
      'bedroom-2',
    );
    expect(JSON.parse(body.toString())).toMatchObject({
      to: 'bedroom-2',
      text: 'Es ist Zeit für Übungen.',
      spoken: 'Es ist Zeit für Übungen.',
    });
  });

  it('is signed as node:crypto and OpenSSL sign it', async () => {
    const { signed } = await received(sampleMessage({ short: 'Zeit für Übungen.' }));
    expect(signed.timestamp).toBe(String(Math.floor(nowMs / 1_000)));
    const text = Buffer.concat([Buffer.from(`${signed.timestamp}.`), signed.body]);
    expect(signed.signature).toBe(`v1=${createHmac('sha256', secret).update(text).digest('hex')}`);
    expect(signed.signature).toBe(`v1=${hmacByOpenssl(secret, text)}`);
    expect(checkSignature(secret, signed, nowMs)).toBe('good');
  });
});

describe('a receiver', () => {
  it('refuses a message that is older than five minutes, or from the future', async () => {
    const { signed } = await received();
    const sentMs = Number(signed.timestamp) * 1_000;
    expect(checkSignature(secret, signed, sentMs + 300_000)).toBe('good');
    expect(checkSignature(secret, signed, sentMs + 300_001)).toBe('stale');
    expect(checkSignature(secret, signed, sentMs - 300_001)).toBe('stale');
  });

  it('refuses an old message with a new time on it', async () => {
    const { signed } = await received();
    const later = { ...signed, timestamp: String(Number(signed.timestamp) + 86_400) };
    expect(checkSignature(secret, later, nowMs + 86_400_000)).toBe('forged');
  });

  it('refuses a message that is played again within the five minutes, by its key', async () => {
    const seen = new Set<string>();
    const take = ({ signed }: Awaited<ReturnType<typeof received>>) => {
      if (checkSignature(secret, signed, nowMs) !== 'good') return 'refused';
      const { key } = JSON.parse(signed.body.toString());
      if (seen.has(key)) return 'seen';
      seen.add(key);
      return 'said';
    };
    const message = sampleMessage();
    const first = await received(message);
    expect([take(first), take(first), take(await received(message)), take(await received())]).toEqual([
      'said',
      'seen',
      'seen',
      'said',
    ]);
  });

  it('refuses whatever was changed: any bit of the body, the time, the signature; another secret', async () => {
    const { signed } = await received();
    expect(checkSignature(`${secret}.`, signed, nowMs)).toBe('forged');
    fc.assert(
      fc.property(
        fc.constantFrom('body', 'timestamp', 'signature'),
        fc.nat(),
        fc.nat({ max: 7 }),
        (part, at, bit) => {
          const bytes = Buffer.from(signed[part]);
          const index = at % bytes.length;
          bytes.writeUInt8(bytes.readUInt8(index) ^ (1 << bit), index);
          const changed = { ...signed, [part]: part === 'body' ? bytes : bytes.toString('latin1') };
          expect(checkSignature(secret, changed, nowMs)).toBe('forged');
        },
      ),
    );
    for (const signature of [
      '',
      'v1=',
      signed.signature.slice(3),
      `${signed.signature} `,
      signed.signature.toUpperCase(),
    ]) {
      expect(checkSignature(secret, { ...signed, signature }, nowMs)).toBe('forged');
    }
  });

  it('is not led astray by a time that is no number, even if it were signed', () => {
    for (const timestamp of ['', 'soon', 'NaN', 'Infinity']) {
      const body = Buffer.from('{}');
      const signature = signatureOf(secret, { timestamp, body });
      expect(checkSignature(secret, { timestamp, signature, body }, nowMs)).toBe('stale');
    }
  });
});

describe('what a gateway answers', () => {
  it.each<[number, Outcome]>([
    [200, { outcome: 'sent' }],
    [204, { outcome: 'sent' }],
    [410, { outcome: 'gone', why: 'text-gone' }],
    [401, { outcome: 'later', why: 'text-sign-in' }],
    [403, { outcome: 'later', why: 'text-sign-in' }],
    [408, { outcome: 'later', why: 'text-busy' }],
    [429, { outcome: 'later', why: 'text-busy' }],
    [504, { outcome: 'later', why: 'text-busy' }],
    [500, { outcome: 'later', why: 'text-busy' }],
    [400, { outcome: 'refused', why: 'text-refused' }],
    // A gateway that was moved answers so for everybody.
    [404, { outcome: 'refused', why: 'text-refused' }],
    [302, { outcome: 'refused', why: 'text-refused' }],
  ])('%i', async (status, outcome) => {
    gateway.behaviour = status;
    gateway.answerHeaders = { location: `${gateway.address}/elsewhere` };
    if (status !== 302) gateway.answerHeaders = {};
    expect(await send()).toEqual(outcome);
    expect(gateway.received).toHaveLength(1);
  });
});
