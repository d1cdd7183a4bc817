import { createHmac, timingSafeEqual } from 'node:crypto';

/** A message that is older than this, or this far ahead of the receiver's clock, may be a replay. */
const signatureLastsSeconds = 300;

export type Signed = {
  /** The header `Stillcount-Timestamp`: seconds since 1970. */
  timestamp: string;
  /** The header `Stillcount-Signature`: `v1=` and 64 hexadecimal digits. */
  signature: string;
  /** The body as received, byte for byte, before it is parsed as JSON. */
  body: Buffer;
};

/** Returns the header `Stillcount-Signature`: HMAC-SHA256 (RFC 2104) over the timestamp, a period and the body. */
export function signatureOf(secret: string, { timestamp, body }: Omit<Signed, 'signature'>): string {
  return `v1=${createHmac('sha256', secret).update(`${timestamp}.`).update(body).digest('hex')}`;
}

/**
 * Checks a received message; receivers can copy it. A receiver also stores the `key` of every message that it accepts
 * for a day, and answers a known one with 200 without sending it again: it may be a replay within the five minutes, or
 * our own retry because the response was lost. It takes the key from the body, because the header `Idempotency-Key` is
 * not signed.
 *
 * @param nowMs the receiver's clock
 */
export function checkSignature(
  secret: string,
  { timestamp, signature, body }: Signed,
  nowMs: number,
): 'good' | 'forged' | 'stale' {
  const wanted = Buffer.from(signatureOf(secret, { timestamp, body }));
  const actual = Buffer.from(signature);
  if (actual.length !== wanted.length || !timingSafeEqual(actual, wanted)) return 'forged';
  const isFresh = Math.abs(nowMs / 1_000 - Number(timestamp)) <= signatureLastsSeconds;
  return isFresh ? 'good' : 'stale';
}
