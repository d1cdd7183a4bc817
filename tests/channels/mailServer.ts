import { type ParsedMail, simpleParser } from 'mailparser';
import { SMTPServer, type SMTPServerOptions } from 'smtp-server';
import { Hold } from './hold.js';
import { listening, OpenSockets } from './openSockets.js';

export type Received = {
  raw: Buffer;
  parsed: ParsedMail;
  from: string;
  to: string[];
  /** When all of it had come, by the test's own steady clock. */
  atMs: number;
};

export type MailBehaviour =
  | 'take'
  /** Keeps the recipient's answer back until the test lets it go. */
  | 'hold'
  /** Takes all of the message and keeps its answer back until the test lets it go. */
  | 'hold-answer'
  /** Breaks the connection off when the message comes. */
  | 'drop'
  /** Takes everything, and answers what is for one address only so long after it has all come. */
  | { slowTo: string; answersAfterMs: number }
  /** An answer to one step: `RCPT 550 5.1.1 no such user`. */
  | { step: 'MAIL' | 'RCPT' | 'DATA'; code: number; words: string };

export type TestMailServer = {
  port: number;
  behaviour: MailBehaviour;
  /** How many messages were begun, taken or not. */
  tries: number;
  readonly received: readonly Received[];
  readonly hold: Hold;
  readonly sockets: OpenSockets;
  stop(): Promise<void>;
};

/** A real SMTP server on this machine that does as it is told; it says its enhanced status codes itself. */
export async function openMailServerForTest(options: SMTPServerOptions = {}): Promise<TestMailServer> {
  const received: Received[] = [];
  const hold = new Hold();
  const refusal = (step: 'MAIL' | 'RCPT' | 'DATA') => {
    const { behaviour } = test;
    if (typeof behaviour === 'string' || !('step' in behaviour) || behaviour.step !== step) return null;
    return Object.assign(new Error(behaviour.words), { responseCode: behaviour.code });
  };
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: options.onAuth === undefined ? ['AUTH'] : [],
    allowInsecureAuth: true,
    hideENHANCEDSTATUSCODES: true,
    disableReverseLookup: true,
    logger: false,
    onMailFrom: (_address, _session, callback) => {
      test.tries += 1;
      callback(refusal('MAIL'));
    },
    onRcptTo: (_address, _session, callback) => {
      if (test.behaviour === 'hold') hold.keep(() => callback(null));
      else callback(refusal('RCPT'));
    },
    onData: async (stream, session, callback) => {
      if (test.behaviour === 'drop') {
        stream.resume();
        test.sockets.destroyAll();
        return;
      }
      const chunks: Buffer[] = [];
      try {
        for await (const chunk of stream) chunks.push(Buffer.from(chunk));
      } catch {
        // The client went away: nothing has arrived, and there is nobody to answer.
        return;
      }
      const failure = refusal('DATA');
      const to = session.envelope.rcptTo.map(({ address }) => address);
      const atMs = performance.now();
      if (failure === null) {
        const raw = Buffer.concat(chunks);
        const { mailFrom } = session.envelope;
        received.push({
          raw,
          parsed: await simpleParser(raw),
          from: mailFrom === false ? '' : mailFrom.address,
          ...{ to, atMs },
        });
      }
      const { behaviour } = test;
      if (behaviour === 'hold-answer') hold.keep(() => callback(failure));
      else if (typeof behaviour !== 'string' && 'slowTo' in behaviour && to.includes(behaviour.slowTo))
        setTimeout(() => callback(failure), behaviour.answersAfterMs);
      else callback(failure);
    },
    ...options,
  });
  // A client that goes away in the middle is what some tests are about.
  server.on('error', () => undefined);
  const sockets = new OpenSockets(server.server);
  const port = await listening(server.server);
  const test: TestMailServer = {
    ...{ port, behaviour: 'take', tries: 0, received, hold, sockets },
    stop: () => {
      sockets.destroyAll();
      return new Promise((resolve) => server.close(() => resolve()));
    },
  };
  return test;
}
