import { z } from 'zod';
import { speak, templateFault } from '../catalogue/template.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';

/** The messages, by content and recipient. */
const messageNames = [
  'due-patient',
  'due-caregiver',
  'not-begun-caregiver',
  'warning-clinician',
  'warning-caregiver',
  'note-clinician',
  'digest-clinician',
  'account-reset-link',
  'account-owner-link',
  'account-password',
  'account-email',
  'stands-still-owner',
] as const;
export type MessageName = (typeof messageNames)[number];

const viewNames = [
  'name',
  'time',
  'day',
  'isLate',
  'isAgain',
  'isUnreminded',
  'clinicName',
  'phone',
  'emergencyNumber',
  'listened',
  'finished',
  'warnings',
  'notes',
  'urgentNotes',
  'quiet',
  'advice',
  'review',
  'failed',
  'others',
  'nothing',
] as const;

/** The values for a message's template; a section whose value is missing is left out. */
export type MessageView = Partial<Record<(typeof viewNames)[number], string | boolean | undefined>>;

const wording = z.string().check((context) => {
  const fault = templateFault(context.value, viewNames);
  if (fault !== null) context.issues.push({ code: 'custom', message: fault, input: context.value });
});

const messagesSchema = z.strictObject({
  messages: z.record(
    z.enum(messageNames),
    z.strictObject({
      subject: wording,
      /** Paragraphs; empty ones are left out. */
      text: z.array(wording).min(1),
      short: wording,
      link: wording,
      /** Empty for a message without an unsubscribe link. */
      unsubscribe: wording,
    }),
  ),
});

type MessageWords = {
  subject: string;
  text: string;
  short: string;
  link: string;
  unsubscribe: string;
};

/** Fills a message in one language. */
export type Messages = (name: MessageName, view: MessageView) => MessageWords;

/**
 * Parses `messages.yaml`, which must have every message and no other.
 *
 * @throws StillcountError kind `input` naming the file, the line and the key for every fault
 */
export function parseMessages(text: string, file: string): Messages {
  const { messages } = parseHouseYaml(text, file, messagesSchema);
  return (name, view) => {
    const words = messages[name];
    const say = (template: string) => speak(template, view);
    return {
      subject: say(words.subject),
      text: words.text
        .map(say)
        .filter((paragraph) => paragraph !== '')
        .join('\n\n'),
      short: say(words.short),
      link: say(words.link),
      unsubscribe: say(words.unsubscribe),
    };
  };
}
