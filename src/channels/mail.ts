import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import mustache from 'mustache';
import type { Channel, Message, Outcome } from './channel.js';
import { withDeadline } from './deadline.js';
import { outcomeOfMailFailure } from './mailOutcome.js';
import { type MailSettings, mailAddressSchema, mailSettings } from './mailSettings.js';
import { messageIdOf } from './messageId.js';
import { plainText } from './plainText.js';
import { UnderWay } from './underWay.js';
import { gone, later, sent } from './whys.js';

/** Beside this file's source, also when it runs compiled from `dist`. */
const templateFile = fileURLToPath(new URL('../../src/channels/mail.html.mustache', import.meta.url));

/** Longer waits say nothing new, and the lease on a delivery is short. */
const usualDeadlineMs = 20_000;

/** Mail from the settings STILLCOUNT_MAIL_URL and STILLCOUNT_MAIL_FROM; null when they are not set. */
export async function openMail(environment: NodeJS.ProcessEnv): Promise<Channel | null> {
  const settings = mailSettings(environment);
  return settings === null ? null : openMailServer(settings);
}

/**
 * E-mail over SMTP; an address is an e-mail address.
 *
 * @param deadlineMs for one message, from handing it over to its outcome
 */
export async function openMailServer(
  settings: MailSettings,
  deadlineMs: number = usualDeadlineMs,
): Promise<Channel> {
  // Loaded here, so that a service without a mail server starts without it.
  const { createTransport } = await import('nodemailer');
  const template = await readFile(templateFile, 'utf8');
  const domain = settings.from.address.replace(/^.*@/, '');
  const transport = createTransport({
    pool: true,
    host: settings.host,
    port: settings.port,
    secure: settings.isSecure,
    requireTLS: settings.needsStartTls,
    ignoreTLS: settings.skipsStartTls,
    ...(settings.auth === null ? {} : { auth: settings.auth }),
    connectionTimeout: deadlineMs / 2,
    greetingTimeout: deadlineMs / 2,
    socketTimeout: deadlineMs / 2,
    dnsTimeout: deadlineMs / 2,
    socketCloseTimeout: deadlineMs / 10,
    // A connection that lay idle may be dead; more tries than a second one are the caller's to make.
    maxRequeues: 1,
    disableFileAccess: true,
    disableUrlAccess: true,
  });
  const underWay = new UnderWay();

  function handIn(address: string, message: Message, outerSignal: AbortSignal): Promise<Outcome> {
    const mail = {
      ...mailOf(message, template, domain),
      from: settings.from,
      to: { name: '', address },
    };
    return withDeadline(outerSignal, deadlineMs, async (signal): Promise<Outcome> => {
      try {
        await transport.sendMail({ ...mail, signal });
        return sent;
      } catch (error) {
        return outerSignal.aborted ? later('interrupted') : outcomeOfMailFailure(error);
      }
    });
  }

  return {
    send: async (unknownAddress, message, signal) => {
      const address = mailAddressSchema.safeParse(unknownAddress);
      if (!address.success) return gone('address-unreadable');
      return underWay.track(handIn(address.data, message, signal));
    },
    // A message that is half handed in is finished: cutting it off would leave open whether it has arrived.
    close: async () => {
      transport.close();
      await underWay.ended();
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
      // Programs that answer mail by themselves leave this one alone (RFC 3834, section 5).
      'Auto-Submitted': 'auto-generated',
      'Content-Language': language,
      // RFC 2369, section 3.2.
      ...(unsubscribe === null
        ? {}
        : { 'List-Unsubscribe': { prepared: true, value: `<${unsubscribe.address}>` } }),
      // A mail program may end messages with one POST, over https only (RFC 8058, section 3.1).
      ...(unsubscribe?.address.startsWith('https:') === true
        ? { 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' }
        : {}),
    },
  };
}
