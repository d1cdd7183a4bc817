import { createHash, ECDH } from 'node:crypto';
import webPush from 'web-push';
import { z } from 'zod';
import type { Channel, Message, Outcome } from './channel.js';
import { isLoopback } from './loopback.js';
import { gone, later, refused, sent, unknown } from './outcomes.js';
import { type Answer, Poster, type PostTimes, usualPostTimes } from './post.js';
import { isPublicHost, lookupPublic } from './publicHost.js';

/** Base64url of this many bytes, without padding. */
const bytesSchema = (count: number) =>
  z
    .string()
    .regex(/^[A-Za-z0-9_-]+$/)
    .refine((text) => Buffer.from(text, 'base64url').length === count);

/** The key pair with which the service proves to push services that it is the same sender (RFC 8292), base64url. */
export const vapidKeysSchema = z.object({ publicKey: bytesSchema(65), privateKey: bytesSchema(32) });
export type VapidKeys = z.infer<typeof vapidKeysSchema>;

/**
 * Generates a key pair. Browsers' subscriptions are bound to it, so it is generated once for an installation and
 * stored.
 */
export function newVapidKeys(): VapidKeys {
  return vapidKeysSchema.parse(webPush.generateVAPIDKeys());
}

const subscriptionSchema = z.object({
  endpoint: z.url().max(2_000),
  keys: z.object({ p256dh: bytesSchema(65).refine(isOnCurve), auth: bytesSchema(16) }),
});

/**
 * A browser's subscription as returned by `PushSubscription.toJSON` (W3C Push API). Anyone with a link can submit one,
 * so it must not point into our own networks.
 */
export const pushAddressSchema = subscriptionSchema.refine(({ endpoint }) => leadsOutside(endpoint));

/** The payload for the page's service worker. */
export type PushPayload = {
  title: string;
  body: string;
  /** The address that a tap opens; null for none. */
  address: string | null;
  /** The same for every copy of one message: a second copy replaces the first. */
  tag: string;
  isUrgent: boolean;
};

export type PushOptions = {
  keys: VapidKeys;
  /** How push services can contact the operator: `mailto:` or `https:`. */
  contact: string;
  times?: PostTimes;
  /** Allows a test to act as the push service. */
  allowsLoopback?: boolean;
};

/** Opens web push (RFC 8030, encrypted as in RFC 8291); an address is a browser's subscription. */
export function openPush(options: PushOptions): Channel {
  const { keys, contact, times = usualPostTimes, allowsLoopback = false } = options;
  const poster = new Poster({ ...times, ...(allowsLoopback ? {} : { lookup: lookupPublic }) });
  const addressSchema = allowsLoopback
    ? subscriptionSchema.refine(({ endpoint }) => leadsOutside(endpoint) || leadsToThisMachine(endpoint))
    : pushAddressSchema;
  return {
    send: async (unknownAddress, message, signal, onHandedOver) => {
      const address = addressSchema.safeParse(unknownAddress);
      if (!address.success) return gone('address-unreadable');
      const url = new URL(address.data.endpoint);
      const tag = topicOf(message.key);
      const { headers, body } = webPush.generateRequestDetails(
        { ...address.data, endpoint: url.href },
        JSON.stringify(payloadOf(message, tag)),
        {
          vapidDetails: { subject: contact, ...keys },
          TTL: Math.max(0, Math.floor(message.goodForSeconds)),
          urgency: 'high',
          topic: tag,
        },
      );
      return outcomeOf(await poster.post(url, { headers, body }, signal, onHandedOver));
    },
    close: () => poster.close(),
  };
}

function payloadOf({ subject, short, link, isUrgent }: Message, tag: string): PushPayload {
  return { title: subject, body: short, address: link?.address ?? null, tag, isUrgent };
}

/** At most 32 characters of base64url (RFC 8030, section 5.4). */
function topicOf(key: string): string {
  return createHash('sha256').update(key).digest('base64url').slice(0, 32);
}

function outcomeOf(answer: Answer): Outcome {
  if (answer.kind === 'interrupted') return later('interrupted');
  if (answer.kind === 'unanswered') return unknown;
  if (answer.kind === 'unreachable') return later('push-unreachable');
  if (answer.kind === 'closed') return refused('push-not-allowed');
  const { status } = answer;
  if (status >= 200 && status < 300) return sent;
  // RFC 8030, section 7.3: 404 for an expired subscription. 410 is common practice for one that was ended.
  if (status === 404 || status === 410) return gone('push-gone');
  // RFC 9110, section 15.6.5: a gateway in front timed out waiting for the response.
  if (status === 504) return unknown;
  return status === 429 || status >= 500 ? later('push-busy') : refused('push-refused');
}

function leadsOutside(endpoint: string): boolean {
  if (!URL.canParse(endpoint)) return false;
  const { protocol, hostname, username, password } = new URL(endpoint);
  return protocol === 'https:' && username === '' && password === '' && isPublicHost(hostname);
}

function leadsToThisMachine(endpoint: string): boolean {
  return URL.canParse(endpoint) && isLoopback(new URL(endpoint).hostname);
}

/** A point that is not on the curve cannot be encrypted to. */
function isOnCurve(point: string): boolean {
  try {
    ECDH.convertKey(point, 'prime256v1', 'base64url');
    return true;
  } catch {
    return false;
  }
}
