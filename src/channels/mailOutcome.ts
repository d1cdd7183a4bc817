import { z } from 'zod';
import type { Outcome } from './channel.js';
import { gone, later, refused } from './outcomes.js';

/** The fields of a nodemailer failure; missing ones are undefined. */
const failureSchema = z.object({
  code: z.string().optional().catch(undefined),
  /** The SMTP step that failed: `RCPT TO`. */
  command: z.string().optional().catch(undefined),
  /** The server's three-digit code. */
  responseCode: z.number().optional().catch(undefined),
  /** The server's full response. */
  response: z.string().optional().catch(undefined),
});

/** The steps at which a server judges one message; at any other it judges us. */
const messageSteps: readonly (string | undefined)[] = ['MAIL FROM', 'RCPT TO', 'DATA'];

/**
 * Returns what a failed email means for the message (RFC 5321, section 4.2; RFC 3463 for the second number).
 *
 * @param error as nodemailer throws it
 */
export function outcomeOfMailFailure(error: unknown): Outcome {
  const { code, command, responseCode, response } = failureSchema.catch({}).parse(error);
  const isTemporary = responseCode !== undefined && responseCode < 500;
  if (isTemporary) return later('mail-busy');
  // 530 and 538 respond to the sender's step: sign in first, encrypt first (RFC 4954, section 6).
  if (code === 'EAUTH' || responseCode === 530 || responseCode === 535) return later('mail-sign-in');
  if (code === 'ETLS' || responseCode === 538) return later('mail-not-secured');
  // 503, commands in the wrong order, and 421, closing, are about the connection and not about the message.
  if (responseCode === undefined || responseCode === 503 || !messageSteps.includes(command)) {
    return code === 'EENVELOPE' || code === 'EMESSAGE' ? refused('mail-refused') : later('mail-unreachable');
  }
  return command === 'RCPT TO' && isNoSuchAddress(responseCode, response ?? '')
    ? gone('mail-no-such-address')
    : refused('mail-refused');
}

/**
 * The second number decides if there is one: `550 5.7.1` refuses us, and ending the contact because of that would
 * silence someone who can be reached. 5.1.7 and 5.1.8 are about the sender's address.
 */
function isNoSuchAddress(responseCode: number, response: string): boolean {
  const status = /^\d{3}[ -](5\.\d{1,3}\.\d{1,3})\b/.exec(response)?.[1];
  if (status === undefined) return [550, 551, 553].includes(responseCode);
  return status.startsWith('5.1.') && status !== '5.1.7' && status !== '5.1.8';
}
