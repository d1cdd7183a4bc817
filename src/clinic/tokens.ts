import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

/** 256 bits: never guessed (NIST SP 800-63B, session secrets, from memory: 64 at least). */
const tokenBytes = 32;

/** A new secret for a cookie, a one-time link or an integration, as 43 characters that are safe in an address. */
export function newToken(): string {
  return randomBytes(tokenBytes).toString('base64url');
}

/** What the store keeps of a token: enough to recognize it, but useless to anyone who reads the database. */
export function hashToken(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}

/** Compares two secrets in constant time. */
export function sameSecret(a: string, b: string): boolean {
  return timingSafeEqual(createHash('sha256').update(a).digest(), createHash('sha256').update(b).digest());
}
