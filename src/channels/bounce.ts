import type { Attachment, ParsedMail } from 'mailparser';
import { z } from 'zod';
import { keyOfMessageId } from './messageId.js';

/** What a mail server reports about a message that it had accepted. */
export type Bounce = {
  /** The key of the message that it is about. */
  key: string;
  /**
   * Whether the server has given up: the address does not accept our mail. Otherwise it keeps trying, or has delivered
   * it.
   */
  isFinal: boolean;
  /** Three numbers (RFC 3463): 5.1.1 for an address that does not exist, 5.2.2 for a full mailbox. */
  status: string;
};

/** Our messages are some kilobytes, and bounces about them are only slightly larger. */
const largestBytes = 1_000_000;
/** The `Content-Type` header of a delivery status notification. */
const reportTypeSchema = z.object({
  value: z.string().regex(/^multipart\/report$/i),
  params: z.object({ 'report-type': z.string().regex(/^delivery-status$/i) }),
});
const statusTypes = ['message/delivery-status', 'message/global-delivery-status'];
const originalTypes = ['message/rfc822', 'text/rfc822-headers', 'message/global', 'message/global-headers'];

/**
 * Parses an email that was returned as a delivery status notification (RFC 3464; RFC 6533 for other scripts).
 *
 * @param mail the whole email as received; any bytes
 * @returns null for any other email, and for one about a message that is not ours
 */
export async function readBounce(mail: Buffer): Promise<Bounce | null> {
  if (mail.length > largestBytes) return null;
  const parsed = await parsedMail(mail);
  if (parsed === null || !isReport(parsed)) return null;
  const report = partOf(parsed, statusTypes);
  const key = keyOf(parsed);
  if (report === undefined || key === null) return null;
  const recipients = groupsOf(report.content.toString()).flatMap((fields) => {
    const status = /^[245]\.\d{1,3}\.\d{1,3}(?!\S)/.exec(fields.get('status') ?? '')?.[0];
    const action = fields.get('action')?.toLowerCase();
    return status === undefined || action === undefined
      ? []
      : [{ status, isFinal: action === 'failed' && status.startsWith('5.') }];
  });
  const final = recipients.find(({ isFinal }) => isFinal) ?? recipients[0];
  return final === undefined ? null : { key, ...final };
}

async function parsedMail(mail: Buffer): Promise<ParsedMail | null> {
  // Loaded for the first bounce: most runs never see one.
  const { simpleParser } = await import('mailparser');
  try {
    return await simpleParser(mail, {
      keepDeliveryStatus: true,
      skipHtmlToText: true,
      skipTextToHtml: true,
      skipImageLinks: true,
    });
  } catch {
    return null;
  }
}

function isReport({ headers }: ParsedMail): boolean {
  return reportTypeSchema.safeParse(headers.get('content-type')).success;
}

function partOf({ attachments }: ParsedMail, types: readonly string[]): Attachment | undefined {
  // A damaged header may produce a value of another type than its types promise.
  return attachments.find(({ contentType }) => types.includes(String(contentType).toLowerCase()));
}

/** Reads the key from the returned headers; some servers return none, and name the message in In-Reply-To. */
function keyOf(parsed: ParsedMail): string | null {
  const original = partOf(parsed, originalTypes)?.content.toString() ?? '';
  const [headers] = groupsOf(original);
  const named = [headers?.get('message-id'), parsed.inReplyTo, ...[parsed.references ?? []].flat()];
  for (const messageId of named) {
    const key = messageId === undefined ? null : keyOfMessageId(messageId);
    if (key !== null) return key;
  }
  return null;
}

/**
 * Groups of fields (`Name: value`, folded over lines), separated by empty lines. Names are in lower case.
 */
function groupsOf(text: string): Map<string, string>[] {
  return text.split(/\r?\n[ \t]*\r?\n/).map((group) => {
    const lines = group.replace(/\r?\n[ \t]+/g, ' ').split(/\r?\n/);
    const fields = lines.flatMap((line): [string, string][] => {
      const colon = line.indexOf(':');
      return colon < 1 ? [] : [[line.slice(0, colon).trim().toLowerCase(), line.slice(colon + 1).trim()]];
    });
    return new Map(fields);
  });
}
