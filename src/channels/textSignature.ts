import { createHmac, timingSafeEqual } from 'node:crypto';

/** A message that is older than this, or so much newer than the receiver's clock, may be a recording of another. */
const signatureLastsSeconds = 300;

export type Signed = {
  /** Of the header `Stillcount-Timestamp`: seconds since 1970. */
  timestamp: string;
  /** Of the header `Stillcount-Signature`: `v1=` and 64 hexadecimal digits. */
  signature: string;
  /** The body as it came, byte for byte, before it is read as JSON. */
  body: Buffer;
};

/** What the header `Stillcount-Signature` says: HMAC-SHA256 (RFC 2104) over the timestamp, a full stop and the body. */
export function signatureOf(secret: string, { timestamp, body }: Omit<Signed, 'signature'>): string {
  return `v1=${createHmac('sha256', secret).update(`${timestamp}.`).update(body).digest('hex')}`;
}

/**
 * Checks what came, for receivers to copy. A receiver also keeps the `key` of every message that it took for a day, and
 * answers one that it has seen with 200 without saying it again: a recording that is played within the five minutes, or
 * ours, sent again because the answer was lost. It takes the key from the body: the header `Idempotency-Key` is not
 * signed.
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
