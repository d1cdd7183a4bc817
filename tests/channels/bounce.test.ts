import fc from 'fast-check';
import { createTransport } from 'nodemailer';
import { describe, expect, it } from 'vitest';
import { readBounce } from '../../src/channels/bounce.js';
import { keyOfMessageId, messageIdOf } from '../../src/channels/messageId.js';

const key = 'due:8f14e45f-ceea-467f-a8b1-0a1b2c3d4e5f:2026-11-25#1';
const ours = messageIdOf(key, 'clinic.example');

type Told = { status: string; original?: string; type?: string; headers?: string; reportType?: string };

/** A report in the shape of the examples of RFC 3464, appendix E; names and words are invented. */
function report(told: Told): Buffer {
  const {
    status,
    original = `From: reminders@clinic.example\nMessage-ID: ${ours}\nSubject: It is time\n\nwords`,
  } = told;
  const { type = 'message/rfc822', headers = '', reportType = 'delivery-status' } = told;
  return Buffer.from(
    `From: Mail Delivery <MAILER-DAEMON@mail.example>
To: <reminders@clinic.example>
Subject: Returned mail
Message-ID: <another@mail.example>
MIME-Version: 1.0
${headers}Content-Type: multipart/report; report-type=${reportType};
      boundary="RAA14128.773615765/MAIL.EXAMPLE"

--RAA14128.773615765/MAIL.EXAMPLE

The message could not be delivered.

--RAA14128.773615765/MAIL.EXAMPLE
content-type: message/delivery-status

Reporting-MTA: dns; mail.example

${status}

--RAA14128.773615765/MAIL.EXAMPLE
content-type: ${type}

${original}
--RAA14128.773615765/MAIL.EXAMPLE--
`.replaceAll('\n', '\r\n'),
  );
}

const recipient =
  'Original-Recipient: rfc822;elfriede@home.example\nFinal-Recipient: rfc822;elfriede@home.example\n';
const failed = `${recipient}Action: failed\nStatus: 5.1.1\nDiagnostic-Code: smtp; 550 no such user`;

describe('a delivery status notification', () => {
  it('says which message it is about, and that it is final', async () => {
    expect(await readBounce(report({ status: failed }))).toEqual({ key, isFinal: true, status: '5.1.1' });
  });

  // Fields as in the examples of RFC 3464, appendix E: comments after the status, a failure of a temporary kind.
  it.each([
    ['Action: failed\nStatus: 5.0.0 (permanent failure)', { isFinal: true, status: '5.0.0' }],
    ['action: FAILED\nstatus: 5.2.2', { isFinal: true, status: '5.2.2' }],
    [
      'Action: failed\nStatus: 4.0.0\nDiagnostic-Code: smtp; 426 connection timed out',
      { isFinal: false, status: '4.0.0' },
    ],
    ['Action: delayed\nStatus: 4.4.1', { isFinal: false, status: '4.4.1' }],
    ['Action: delivered\nStatus: 2.0.0', { isFinal: false, status: '2.0.0' }],
    [
      'Action: failed\nDiagnostic-Code: smtp;\n  550 folded\n\tStatus: 4.0.0\nStatus: 5.1.10',
      { isFinal: true, status: '5.1.10' },
    ],
    [
      'Action: delayed\nStatus: 4.4.1\n\nFinal-Recipient: rfc822;b@home.example\nAction: failed\nStatus: 5.1.1',
      { isFinal: true, status: '5.1.1' },
    ],
  ])('reads %j', async (fields, told) => {
    expect(await readBounce(report({ status: recipient + fields }))).toEqual({ key, ...told });
  });

  it.each(['text/rfc822-headers', 'message/rfc822', 'Message/Global-Headers'])(
    'finds the message in %s',
    async (type) => {
      expect(await readBounce(report({ status: failed, type }))).toMatchObject({ key });
    },
  );

  it('finds a Message-ID that is folded, as some servers do with long ones', async () => {
    const original = `Subject: It is time\nmessage-id:\n ${ours}\n\nwords`;
    expect(await readBounce(report({ status: failed, original }))).toMatchObject({ key });
  });

  it('finds the message that it answers when none came back', async () => {
    const headers = `References: <first@mail.example> ${ours}\n`;
    expect(await readBounce(report({ status: failed, original: 'nothing', headers }))).toMatchObject({ key });
    const answer = `In-Reply-To: ${ours}\n`;
    expect(await readBounce(report({ status: failed, original: 'nothing', headers: answer }))).toMatchObject({
      key,
    });
  });

  it('that is written by another library is read too', async () => {
    const transport = createTransport({ streamTransport: true, buffer: true });
    const { message } = await transport.sendMail({
      from: 'postmaster@mail.example',
      to: 'reminders@clinic.example',
      raw: report({ status: failed }),
    });
    expect(await readBounce(Buffer.from(message as Buffer))).toEqual({ key, isFinal: true, status: '5.1.1' });
  });
});

describe('what is no such notification about a message of ours', () => {
  it.each<[string, Told]>([
    ['a message of somebody else', { status: failed, original: 'Message-ID: <a@clinic.example>\n\nwords' }],
    ['our message only quoted in words', { status: failed, original: `Subject: a\n\nMessage-ID: ${ours}` }],
    ['a receipt (RFC 8098)', { status: failed, reportType: 'disposition-notification' }],
    ['no status', { status: `${recipient}Action: failed` }],
    ['a status that is none', { status: `${recipient}Action: failed\nStatus: 5.1.1.1` }],
    ['no action', { status: `${recipient}Status: 5.1.1` }],
  ])('%s', async (_what, told) => {
    expect(await readBounce(report(told))).toBeNull();
  });

  it('an answer that somebody wrote, with our message quoted', async () => {
    const answer = `From: elfriede@home.example\r\nIn-Reply-To: ${ours}\r\nSubject: Re: It is time\r\n\r\nStatus: 5.1.1\r\nAction: failed\r\n`;
    expect(await readBounce(Buffer.from(answer))).toBeNull();
  });

  it('something far too large', async () => {
    const original = `Message-ID: ${ours}\n\n${'words '.repeat(200_000)}`;
    expect(await readBounce(report({ status: failed, original }))).toBeNull();
  });

  it('any bytes at all', async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ maxLength: 2_000 }), async (bytes) => {
        expect(await readBounce(Buffer.from(bytes))).toBeNull();
      }),
      { numRuns: 200 },
    );
  });
});

describe('a notification that was damaged on its way', () => {
  it('is read as one about a message that it names, or not at all', async () => {
    const whole = report({ status: failed });
    const seen = new Set<string>();
    await fc.assert(
      fc.asyncProperty(
        fc.nat({ max: whole.length - 1 }),
        fc.uint8Array({ minLength: 1, maxLength: 20 }),
        fc.boolean(),
        async (at, bytes, isCut) => {
          const damaged = Buffer.concat([
            whole.subarray(0, at),
            bytes,
            isCut ? Buffer.alloc(0) : whole.subarray(at),
          ]);
          const found = await readBounce(damaged);
          seen.add(found === null ? 'nothing' : 'the message');
          if (found !== null) {
            expect(damaged.toString('latin1')).toContain(Buffer.from(found.key).toString('base64url'));
            expect(found.isFinal && !found.status.startsWith('5.')).toBe(false);
          }
        },
      ),
      { numRuns: 300, examples: [[682, Uint8Array.from([59, 0]), false]] },
    );
    expect(seen).toEqual(new Set(['nothing', 'the message']));
  });
});

describe('the Message-ID of a message', () => {
  it('gives its key back, whatever the key is', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), (any) => {
        fc.pre(any !== '');
        const id = messageIdOf(any, 'clinic.example');
        // RFC 5322, section 3.6.4: atoms with full stops between them, on both sides.
        expect(id).toMatch(/^<[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*@[a-z.]+>$/);
        expect(keyOfMessageId(id)).toBe(any);
        expect(keyOfMessageId(` ${id.slice(1, -1)} `)).toBe(any);
      }),
    );
  });

  it('is the only text that does', () => {
    fc.assert(fc.property(fc.string(), (any) => keyOfMessageId(any) === null));
    for (const text of [
      '<stillcount.@a>',
      '<stillcount.YR@a>',
      '<stillcount._w@a>',
      '<other.YQ@a>',
      'stillcount.YQ',
    ]) {
      expect(keyOfMessageId(text)).toBeNull();
    }
    expect(keyOfMessageId('<stillcount.YQ@a>')).toBe('a');
  });
});
