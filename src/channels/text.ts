import { z } from 'zod';
import type { Channel, Message, MessageKind, Outcome } from './channel.js';
import { gone, later, refused, sent, unknown } from './outcomes.js';
import { type Answer, Poster, type PostTimes, usualPostTimes } from './post.js';
import { type TextSettings, textSettings } from './textSettings.js';
import { signatureOf } from './textSignature.js';

/** A phone number (ITU-T E.164: plus and up to 15 digits), or a name that the gateway knows, such as a speaker's. */
export const textAddressSchema = z.object({
  to: z.string().regex(/^(\+[1-9][0-9]{6,14}|[A-Za-z0-9-]{1,60})$/),
});

/** The JSON that the gateway receives. */
type TextBody = {
  format: 'stillcount-message/1';
  key: string;
  kind: MessageKind;
  to: string;
  language: string;
  /** For a phone: one or two sentences and the address to open. */
  text: string;
  /** For a speaker: the same without the address. */
  spoken: string;
  isUrgent: boolean;
  /** ISO 8601, UTC. */
  sentAt: string;
};

/**
 * Opens the gateway in the settings STILLCOUNT_TEXT_URL and STILLCOUNT_TEXT_SECRET; null if they are not set.
 *
 * @throws StillcountError kind `input` naming each variable that cannot be used, never its value
 */
export function openText(environment: NodeJS.ProcessEnv, now: () => number): Channel | null {
  const settings = textSettings(environment);
  return settings === null ? null : openTextGateway(settings, now);
}

/**
 * A signed webhook: a gateway turns each POST into a text message, or speaks it on a speaker. It responds with 2xx if
 * it has accepted the message, 504 if it does not know whether it was accepted, 410 if the number or name no longer
 * exists, 401 or 403 if the signature is wrong, 429 or 5xx to be retried, and any other 4xx if it will never accept it.
 *
 * @param now the clock, epoch milliseconds
 * @param times the timeouts for one message
 */
export function openTextGateway(
  { url, secret }: TextSettings,
  now: () => number,
  times: PostTimes = usualPostTimes,
): Channel {
  const poster = new Poster(times);
  return {
    send: async (unknownAddress, message, signal, onHandedOver) => {
      const address = textAddressSchema.safeParse(unknownAddress);
      if (!address.success) return gone('address-unreadable');
      const sentAtMs = now();
      const body = Buffer.from(JSON.stringify(bodyOf(message, address.data.to, sentAtMs)));
      const timestamp = String(Math.floor(sentAtMs / 1_000));
      const headers = {
        'content-type': 'application/json; charset=utf-8',
        'Stillcount-Timestamp': timestamp,
        'Stillcount-Signature': signatureOf(secret, { timestamp, body }),
        'Idempotency-Key': message.key,
      };
      return outcomeOf(await poster.post(url, { headers, body }, signal, onHandedOver));
    },
    close: () => poster.close(),
  };
}

function bodyOf(
  { key, kind, language, short, link, isUrgent }: Message,
  to: string,
  sentAtMs: number,
): TextBody {
  const sentAt = new Date(sentAtMs).toISOString();
  return {
    format: 'stillcount-message/1',
    ...{ key, kind, to, language },
    text: link === null ? short : `${short} ${link.address}`,
    spoken: short,
    ...{ isUrgent, sentAt },
  };
}

/** 404 does not mean that a number no longer exists: a gateway that has moved returns it for everyone. */
function outcomeOf(answer: Answer): Outcome {
  if (answer.kind === 'interrupted') return later('interrupted');
  if (answer.kind === 'unanswered') return unknown;
  if (answer.kind !== 'answered') return later('text-unreachable');
  const { status } = answer;
  if (status >= 200 && status < 300) return sent;
  if (status === 410) return gone('text-gone');
  if (status === 401 || status === 403) return later('text-sign-in');
  return status === 408 || status === 429 || status >= 500 ? later('text-busy') : refused('text-refused');
}
