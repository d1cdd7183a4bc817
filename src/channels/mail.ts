import { setMaxListeners } from 'node:events';
import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import mustache from 'mustache';
import type { Channel, Message, Outcome } from './channel.js';
import { InFlight } from './inFlight.js';
import { outcomeOfMailFailure } from './mailOutcome.js';
import { type MailSettings, mailAddressSchema, mailSettings } from './mailSettings.js';
import { MailSlots } from './mailSlots.js';
import { messageIdOf } from './messageId.js';
import { gone, later, sent } from './outcomes.js';
import { plainText } from './plainText.js';

/** Next to this file's source, even when it runs compiled from `dist`. */
const templateFile = fileURLToPath(new URL('../../src/channels/mail.html.mustache', import.meta.url));

export type MailTimes = {
  /** From starting a message to having handed all of it over. A longer wait gains nothing. */
  handingMs: number;
  /** From then until the server has confirmed it: 10 minutes (RFC 5321, section 4.5.3.2.6). */
  answerMs: number;
  /** A response that takes longer than this no longer blocks other messages. */
  slowAfterMs: number;
};

export const usualMailTimes: MailTimes = { handingMs: 20_000, answerMs: 600_000, slowAfterMs: 3_000 };

/** Servers accept few connections from one client, and each pending response holds one. Our choice; no source. */
const mostAtOnce = { handing: 5, inAll: 40 };

/** Opens email with the settings STILLCOUNT_MAIL_URL and STILLCOUNT_MAIL_FROM; null if they are not set. */
export async function openMail(environment: NodeJS.ProcessEnv): Promise<Channel | null> {
  const settings = mailSettings(environment);
  return settings === null ? null : openMailServer(settings);
}

/**
 * Sends email over SMTP; an address is an email address. A message that was handed over completely without a response
 * is `unknown` when its time is up or the caller gives up: sending it again may deliver it twice (RFC 1047). If the
 * server itself closes the connection, it has not accepted the message (RFC 5321, section 4.1.1.10), which is retried
 * later.
 */
export async function openMailServer(
  settings: MailSettings,
  { handingMs, answerMs, slowAfterMs }: MailTimes = usualMailTimes,
): Promise<Channel> {
  // Loaded here, so that a service without a mail server starts without it.
  const { createTransport } = await import('nodemailer');
  const template = await readFile(templateFile, 'utf8');
  const domain = settings.from.address.replace(/^.*@/, '');
  const transport = createTransport({
    pool: true,
    maxConnections: mostAtOnce.inAll,
    host: settings.host,
    port: settings.port,
    secure: settings.isSecure,
    requireTLS: settings.needsStartTls,
    ignoreTLS: settings.skipsStartTls,
    ...(settings.auth === null ? {} : { auth: settings.auth }),
    connectionTimeout: handingMs / 2,
    greetingTimeout: handingMs / 2,
    dnsTimeout: handingMs / 2,
    // Both timeouts are enforced here for each message; the library must not hang up earlier.
    socketTimeout: 2 * (handingMs + answerMs),
    socketCloseTimeout: handingMs / 10,
    // An idle connection may be dead; retries beyond a second one are up to the caller.
    maxRequeues: 1,
    disableFileAccess: true,
    disableUrlAccess: true,
  });
  const inFlight = new InFlight();
  const slots = new MailSlots(mostAtOnce);
  /**
   * The library reads the last byte of a message when it sends it; the abort signal identifies which message that is.
   */
  const onAllRead = new WeakMap<AbortSignal, () => void>();
  transport.use('stream', ({ data, message }, done) => {
    message.processFunc((bytes) => {
      const { signal } = data;
      if (signal !== undefined) bytes.once('end', () => onAllRead.get(signal)?.());
      return bytes;
    });
    done();
  });

  async function handIn(
    address: string,
    message: Message,
    outer: AbortSignal,
    onHandedOver: () => void,
  ): Promise<Outcome> {
    const sending = new AbortController();
    const { signal } = sending;
    const giveUp = () => sending.abort();
    let timer = setTimeout(giveUp, handingMs);
    let slowTimer: NodeJS.Timeout | undefined;
    let isHandedOver = false;
    let isSlow = false;
    // Many messages may share one signal. Each removes its listener again, so more than ten are not a leak.
    setMaxListeners(0, outer, signal);
    outer.addEventListener('abort', giveUp, { once: true });
    if (outer.aborted) giveUp();
    onAllRead.set(signal, () => {
      isHandedOver = true;
      clearTimeout(timer);
      timer = setTimeout(giveUp, answerMs);
      slowTimer = setTimeout(() => {
        isSlow = true;
        slots.becomesSlow();
      }, slowAfterMs);
      onHandedOver();
    });
    const hasRoom = await slots.take(signal);
    try {
      if (!hasRoom) return later(outer.aborted ? 'interrupted' : 'mail-unreachable');
      const to = { name: '', address };
      await transport.sendMail({ ...mailOf(message, template, domain), from: settings.from, to, signal });
      return sent;
    } catch (error) {
      if (isHandedOver && signal.aborted) return { outcome: 'unknown' };
      return outer.aborted ? later('interrupted') : outcomeOfMailFailure(error);
    } finally {
      clearTimeout(timer);
      clearTimeout(slowTimer);
      outer.removeEventListener('abort', giveUp);
      if (hasRoom) slots.release({ isSlow });
    }
  }

  return {
    send: async (unknownAddress, message, signal, onHandedOver = () => undefined) => {
      const address = mailAddressSchema.safeParse(unknownAddress);
      if (!address.success) return gone('address-unreadable');
      return inFlight.track(handIn(address.data, message, signal, onHandedOver));
    },
    // A message that is half sent is finished: interrupting it would leave open whether it arrives.
    close: async () => {
      transport.close();
      await inFlight.ended();
    },
  };
}

function mailOf(message: Message, template: string, domain: string) {
  const { key, language, subject, text, link, unsubscribe, isUrgent } = message;
  return {
    subject,
    messageId: messageIdOf(key, domain),
    text: plainText(message),
    html: mustache.render(template, {
      ...{ language, subject, link, unsubscribe },
      paragraphs: text
        .trim()
        .split(/\n\s*\n/)
        .map((paragraph) => ({
          lines: paragraph.split('\n').map((words, index) => ({ words, isFirst: index === 0 })),
        })),
    }),
    priority: isUrgent ? 'high' : 'normal',
    headers: {
      // Keeps automatic responders from answering this email (RFC 3834, section 5).
      'Auto-Submitted': 'auto-generated',
      'Content-Language': language,
      // RFC 2369, section 3.2.
      ...(unsubscribe === null
        ? {}
        : { 'List-Unsubscribe': { prepared: true, value: `<${unsubscribe.address}>` } }),
      // A mail client can unsubscribe with one POST, over https only (RFC 8058, section 3.1).
      ...(unsubscribe?.address.startsWith('https:') === true
        ? { 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' }
        : {}),
    },
  };
}
