import type { Message } from '../channels/channel.js';
import type { MessageName, Messages, MessageView } from '../documents/messages.js';
import { localMsIn } from '../schedule/wallClock.js';
import type { Claimed } from '../store/reminding/deliveries.js';
import type { SendingContact, SendingFacts } from '../store/reminding/sendingFacts.js';
import { parseAccountNews } from './accountNews.js';
import type { ReminderSecrets } from './secrets.js';

export type Composing = {
  facts: SendingFacts;
  messages: Messages;
  secrets: ReminderSecrets;
  /** The address of the service for recipients, without a trailing slash. */
  address: string;
  nowMs: number;
};

const language = 'en';

/** The text of one message, and where its link leads. */
export function composeMessage(
  claimed: Claimed,
  contact: SendingContact,
  { isLate, view }: { isLate: boolean; view: MessageView },
  { facts, messages, secrets, address, nowMs }: Composing,
): Message {
  const patient = facts.patients.get(claimed.patientId ?? '');
  const zone = patient?.zone ?? 'UTC';
  const aboutMs = claimed.slotDueAtMs ?? claimed.forAtMs;
  const words = messages(nameOf(claimed, contact), {
    // Never the full name on a screen that others can see.
    name: patient?.spokenName || patient?.name.split(/\s+/)[0],
    time: timeInWords(aboutMs, zone, language),
    day: dayInWords(aboutMs, zone, language),
    isLate,
    clinicName: patient?.clinicName,
    phone: patient?.phone,
    emergencyNumber: patient?.emergencyNumber,
    ...view,
  });
  const path = linkPath(contact, facts, secrets);
  return {
    // Its id is permanent, even if it is sent again; and a bounce names nothing else.
    key: claimed.id,
    language,
    kind: claimed.kind,
    subject: words.subject,
    text: words.text,
    short: words.short,
    link: path === null ? null : { words: words.link, address: address + path },
    unsubscribe:
      words.unsubscribe === ''
        ? null
        : {
            words: words.unsubscribe,
            address: `${address}/unsubscribe/${secrets.unsubscribeTokenOf(contact.id)}`,
          },
    isUrgent: claimed.kind === 'warning' || claimed.kind === 'note',
    goodForSeconds: Math.max(60, Math.round((claimed.goodUntilMs - nowMs) / 1000)),
  };
}

/** As people say it: 9:00 AM. Many do not read 24-hour times, and a voice cannot say them. */
function timeInWords(atMs: number, zone: string, locale: string): string {
  return formatterOf({ hour: 'numeric', minute: '2-digit' }, locale).format(localMsIn(atMs, zone));
}

function dayInWords(atMs: number, zone: string, locale: string): string {
  const parts = { weekday: 'long', day: 'numeric', month: 'long' } as const;
  return formatterOf(parts, locale).format(localMsIn(atMs, zone));
}

/** One per language: creating one takes longer than everything else about a message. */
const formatters = new Map<string, Intl.DateTimeFormat>();

function formatterOf(options: Intl.DateTimeFormatOptions, locale: string): Intl.DateTimeFormat {
  const key = JSON.stringify([locale, options]);
  const known = formatters.get(key) ?? new Intl.DateTimeFormat(locale, { ...options, timeZone: 'UTC' });
  formatters.set(key, known);
  return known;
}

function nameOf({ kind, subject }: Claimed, { patientId, clinicianId }: SendingContact): MessageName {
  switch (kind) {
    case 'due':
      return patientId === null ? 'due-caregiver' : 'due-patient';
    case 'not-begun':
      return 'not-begun-caregiver';
    case 'warning':
      return clinicianId === null ? 'warning-caregiver' : 'warning-clinician';
    case 'note':
      return 'note-clinician';
    case 'digest':
      return 'digest-clinician';
    case 'account':
      return `account-${parseAccountNews(subject)}`;
  }
}

/** Clinicians sign in; listeners open their link, and without one there is nothing to open. */
function linkPath(contact: SendingContact, { links }: SendingFacts, secrets: ReminderSecrets): string | null {
  if (contact.clinicianId !== null) return '/';
  const linkId = findLinkFor(contact, links);
  return linkId === undefined ? null : `/l/${secrets.pagesTokenOf(contact.id, linkId)}/`;
}

/** The link of the person whom a contact reaches. */
export function findLinkFor(
  { patientId, caregiverPersonId }: SendingContact,
  links: SendingFacts['links'],
): string | undefined {
  return links.get(patientId ?? caregiverPersonId ?? '');
}
