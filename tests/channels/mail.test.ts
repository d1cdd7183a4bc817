import { createServer } from 'node:net';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Channel, Outcome } from '../../src/channels/channel.js';
import { type MailTimes, openMailServer, usualMailTimes } from '../../src/channels/mail.js';
import type { MailSettings } from '../../src/channels/mailSettings.js';
import { openMailServerForTest, type TestMailServer } from './mailServer.js';
import { listening, OpenSockets } from './openSockets.js';
import { goOn, sampleMessage } from './sample.js';

const to = 'elfriede@home.example';
const settingsFor = (port: number, changes: Partial<MailSettings> = {}): MailSettings => ({
  ...{ host: '127.0.0.1', port, isSecure: false, needsStartTls: false, skipsStartTls: true, auth: null },
  from: { name: 'The clinic', address: 'reminders@clinic.example' },
  ...changes,
});

let server: TestMailServer;
let channel: Channel;
beforeEach(async () => {
  server = await openMailServerForTest();
  channel = await openMailServer(settingsFor(server.port));
});
afterEach(async () => {
  await channel.close();
  await server.stop();
});

async function received(message = sampleMessage()) {
  expect(await channel.send(to, message, goOn)).toEqual({ outcome: 'sent' });
  const mail = server.received.at(-1);
  if (mail === undefined) throw new Error('nothing was received');
  const [head = ''] = mail.raw.toString().split('\r\n\r\n');
  const header = (name: string) =>
    new RegExp(`^${name}:(.*(?:\\r\\n[ \\t].*)*)`, 'im').exec(head)?.[1]?.replace(/\r\n/g, '').trim();
  return { ...mail, head, header };
}

describe('a mail as it is received', () => {
  it('says who it is from, whom it is for and what it is about, once', async () => {
    const { from, to: recipients, parsed } = await received();
    expect(from).toBe('reminders@clinic.example');
    expect(recipients).toEqual([to]);
    expect(parsed.from?.value).toEqual([{ name: 'The clinic', address: 'reminders@clinic.example' }]);
    expect(parsed.to).toMatchObject({ value: [{ address: to }] });
    expect(parsed.subject).toBe('It is time for your exercises');
    expect(parsed.attachments).toEqual([]);
  });

  it('has the same words as plain text and as HTML, plain text first (RFC 2046, section 5.1.4)', async () => {
    const { parsed, raw, header } = await received();
    expect(header('Content-Type')).toMatch(/^multipart\/alternative;/);
    const parts = [...raw.toString().matchAll(/^Content-Type: (text\/\w+)/gim)].map(([, type]) => type);
    expect(parts).toEqual(['text/plain', 'text/html']);
    const page = typeof parsed.html === 'string' ? parsed.html.replaceAll('&#x2F;', '/') : '';
    for (const part of [parsed.text, page]) {
      expect(part).toContain('Good morning, Elfriede.');
      expect(part).toContain('Take all the time you need.');
      expect(part).toContain('Begin now');
      expect(part).toContain('https://clinic.example/l/abc123/');
      expect(part).toContain('https://clinic.example/u/def456');
    }
  });

  it('says that a program sent it, and in which language (RFC 3834, RFC 3282)', async () => {
    const { header } = await received();
    expect(header('Auto-Submitted')).toBe('auto-generated');
    expect(header('Content-Language')).toBe('en');
  });

  it('can be ended by the mail program with one POST (RFC 2369, RFC 8058)', async () => {
    const { header } = await received();
    expect(header('List-Unsubscribe')).toBe('<https://clinic.example/u/def456>');
    expect(header('List-Unsubscribe-Post')).toBe('List-Unsubscribe=One-Click');
  });

  it('offers one POST over https only', async () => {
    const unsubscribe = { words: 'Stop', address: 'http://127.0.0.1:8750/u/def456' };
    const { header } = await received(sampleMessage({ unsubscribe }));
    expect(header('List-Unsubscribe')).toBe('<http://127.0.0.1:8750/u/def456>');
    expect(header('List-Unsubscribe-Post')).toBeUndefined();
  });

  it('that cannot be ended does not offer it', async () => {
    const { head, parsed } = await received(sampleMessage({ unsubscribe: null }));
    expect(head).not.toMatch(/list-unsubscribe/i);
    expect(parsed.text).not.toContain('-- \n');
  });

  it('keeps its Message-ID when it is sent again after graylisting (RFC 6647)', async () => {
    const message = sampleMessage();
    server.behaviour = { step: 'RCPT', code: 451, words: '4.7.1 please try again later' };
    expect(await channel.send(to, message, goOn)).toEqual({ outcome: 'later', why: 'mail-busy' });
    server.behaviour = 'take';
    const first = await received(message);
    const again = await received(message);
    expect(first.header('Message-ID')).toMatch(/^<[^\s<>@]+@clinic\.example>$/);
    expect(again.header('Message-ID')).toBe(first.header('Message-ID'));
    expect(server.tries).toBe(3);
  });

  it('is marked when it is urgent', async () => {
    const urgent = await received(sampleMessage({ isUrgent: true }));
    expect(urgent.header('Importance')).toBe('High');
    expect((await received()).header('Importance')).toBeUndefined();
  });

  it('keeps letters of every script, and lines within 998 octets (RFC 5322, section 2.1.1)', async () => {
    const words = 'Zeit für Übungen – 体操の時間 '.repeat(60);
    const { parsed, raw } = await received(sampleMessage({ subject: 'Zeit für 体操', text: words }));
    expect(parsed.subject).toBe('Zeit für 体操');
    expect(parsed.text).toContain(words.trim());
    for (const line of raw.toString('latin1').split('\r\n')) expect(line.length).toBeLessThanOrEqual(998);
  });

  it('takes no header from its words', async () => {
    const { head, to: recipients } = await received(
      sampleMessage({ subject: 'Hello\r\nBcc: other@home.example\r\n\r\nbody', language: 'en\r\nX-Own: 1' }),
    );
    expect(head).not.toMatch(/^(bcc|x-own):/im);
    expect(recipients).toEqual([to]);
  });
});

describe('what a mail server answers', () => {
  // Codes: RFC 5321, section 4.2.3; the second number: RFC 3463, section 3.
  const answers: readonly ['MAIL' | 'RCPT' | 'DATA', number, string, Outcome][] = [
    ['RCPT', 550, '5.1.1 no such mailbox', { outcome: 'gone', why: 'mail-no-such-address' }],
    ['RCPT', 553, '5.1.3 bad address', { outcome: 'gone', why: 'mail-no-such-address' }],
    ['RCPT', 551, '5.1.6 has moved', { outcome: 'gone', why: 'mail-no-such-address' }],
    ['RCPT', 550, 'no such mailbox', { outcome: 'gone', why: 'mail-no-such-address' }],
    ['RCPT', 551, 'not here', { outcome: 'gone', why: 'mail-no-such-address' }],
    ['RCPT', 553, 'not allowed', { outcome: 'gone', why: 'mail-no-such-address' }],
    // Refused for what we are, or full: the address may be as good as ever.
    ['RCPT', 550, '5.7.1 we do not know you', { outcome: 'refused', why: 'mail-refused' }],
    ['RCPT', 550, '5.1.8 your domain does not exist', { outcome: 'refused', why: 'mail-refused' }],
    ['RCPT', 552, '5.2.2 mailbox full', { outcome: 'refused', why: 'mail-refused' }],
    ['RCPT', 554, 'no', { outcome: 'refused', why: 'mail-refused' }],
    ['RCPT', 450, '4.2.1 busy', { outcome: 'later', why: 'mail-busy' }],
    ['RCPT', 452, '4.2.2 mailbox full', { outcome: 'later', why: 'mail-busy' }],
    ['MAIL', 550, '5.1.1 no such sender', { outcome: 'refused', why: 'mail-refused' }],
    ['MAIL', 451, '4.3.0 busy', { outcome: 'later', why: 'mail-busy' }],
    ['MAIL', 530, '5.7.0 sign in first', { outcome: 'later', why: 'mail-sign-in' }],
    ['DATA', 550, '5.1.1 no such mailbox after all', { outcome: 'refused', why: 'mail-refused' }],
    ['DATA', 554, '5.6.0 not this one', { outcome: 'refused', why: 'mail-refused' }],
    ['DATA', 421, '4.3.2 going away', { outcome: 'later', why: 'mail-busy' }],
  ];
  it.each(answers)('to %s: %i %s', async (step, code, words, outcome) => {
    server.behaviour = { step, code, words };
    expect(await channel.send(to, sampleMessage(), goOn)).toEqual(outcome);
    expect(server.received).toEqual([]);
  });

  it('in the middle of the message, by hanging up, is no answer', async () => {
    server.behaviour = 'drop';
    expect(await channel.send(to, sampleMessage(), goOn)).toEqual({
      outcome: 'later',
      why: 'mail-unreachable',
    });
    // Once, not once for every try of the library.
    expect(server.tries).toBe(1);
  });
});

describe('a mail server that has all of a message and does not answer', () => {
  const opened = (times: Partial<MailTimes>) =>
    openMailServer(settingsFor(server.port), { ...usualMailTimes, ...times });

  it('has its answer waited for, longer than for anything else (RFC 5321, section 4.5.3.2.6)', async () => {
    expect(usualMailTimes.answerMs).toBe(600_000);
    const patient = await opened({ handingMs: 400 });
    server.behaviour = 'hold-answer';
    let isHandedOver = false;
    const slow = patient.send(to, sampleMessage(), goOn, () => {
      isHandedOver = true;
    });
    await server.hold.held();
    expect(isHandedOver).toBe(true);
    // Begun later, and given up when the time for handing over is over: for the first one it is over too.
    server.behaviour = 'hold';
    expect(await patient.send(to, sampleMessage(), goOn)).toEqual({
      outcome: 'later',
      why: 'mail-unreachable',
    });
    server.hold.release();
    expect(await slow).toEqual({ outcome: 'sent' });
    expect(server.received, 'one copy').toHaveLength(1);
    await patient.close();
  });

  it('for too long leaves it open whether it arrives', async () => {
    const impatient = await opened({ answerMs: 300 });
    server.behaviour = 'hold-answer';
    expect(await impatient.send(to, sampleMessage(), goOn)).toEqual({ outcome: 'unknown' });
    expect(server.received, 'it was there').toHaveLength(1);
    server.hold.release();
    await impatient.close();
  });

  it('when the caller gives up leaves it open too', async () => {
    server.behaviour = 'hold-answer';
    const giveUp = new AbortController();
    const outcome = channel.send(to, sampleMessage(), giveUp.signal);
    await server.hold.held();
    giveUp.abort();
    expect(await outcome).toEqual({ outcome: 'unknown' });
    server.hold.release();
  });

  it('holds up no other message', async () => {
    const busy = await opened({ slowAfterMs: 20 });
    server.behaviour = 'hold-answer';
    const slow = Array.from({ length: 12 }, () => busy.send(to, sampleMessage(), goOn));
    await server.hold.held(12);
    server.behaviour = 'take';
    expect(await busy.send(to, sampleMessage(), goOn)).toEqual({ outcome: 'sent' });
    server.hold.release();
    expect(await Promise.all(slow)).toEqual(slow.map(() => ({ outcome: 'sent' })));
    expect(server.received).toHaveLength(13);
    await busy.close();
  });
});

describe('a mail server', () => {
  it('that hung up while nothing was to be sent gets the next message all the same', async () => {
    await received();
    server.sockets.destroyAll();
    await server.sockets.whenNone();
    await received();
    expect(server.received).toHaveLength(2);
  });

  it('that takes a connection and says nothing is given up', async () => {
    const silent = createServer(() => undefined);
    const sockets = new OpenSockets(silent);
    const waiting = await openMailServer(settingsFor(await listening(silent)), {
      ...usualMailTimes,
      handingMs: 400,
    });
    expect(await waiting.send(to, sampleMessage(), goOn)).toEqual({
      outcome: 'later',
      why: 'mail-unreachable',
    });
    await waiting.close();
    await sockets.whenNone();
    await new Promise((resolve) => silent.close(resolve));
  });

  it.each([
    ['right', 'p@ss/w:rd %', { outcome: 'sent' }],
    ['wrong', 'another', { outcome: 'later', why: 'mail-sign-in' }],
  ] as const)('with the %s password', async (_which, pass, outcome) => {
    const guarded = await openMailServerForTest({
      authOptional: false,
      onAuth: ({ username, password }, _session, callback) =>
        username === 'clinic' && password === 'p@ss/w:rd %'
          ? callback(null, { user: username })
          : callback(Object.assign(new Error('5.7.8 wrong'), { responseCode: 535 })),
    });
    const own = await openMailServer(settingsFor(guarded.port, { auth: { user: 'clinic', pass } }));
    expect(await own.send(to, sampleMessage(), goOn)).toEqual(outcome);
    expect(guarded.received).toHaveLength(outcome.outcome === 'sent' ? 1 : 0);
    await own.close();
    await guarded.stop();
  });

  it('that cannot secure the connection is not told the password', async () => {
    const passwords: string[] = [];
    const open = await openMailServerForTest({
      disabledCommands: ['STARTTLS'],
      onAuth: ({ password }, _session, callback) => {
        passwords.push(password ?? '');
        callback(null, { user: 'clinic' });
      },
    });
    const settings = { needsStartTls: true, skipsStartTls: false, auth: { user: 'clinic', pass: 'secret' } };
    const own = await openMailServer(settingsFor(open.port, settings));
    expect(await own.send(to, sampleMessage(), goOn)).toEqual({ outcome: 'later', why: 'mail-not-secured' });
    expect(passwords).toEqual([]);
    await own.close();
    await open.stop();
  });
});
