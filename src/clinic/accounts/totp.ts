import { Secret, TOTP } from 'otpauth';

/** Six-digit codes, a new one every 30 s (RFC 6238, SHA-1, which authenticator apps expect). */
function totp(secret: string, account: string): TOTP {
  return new TOTP({ issuer: 'Stillcount', label: account, secret: Secret.fromBase32(secret) });
}

/** A new shared secret, 160 bits (RFC 4226, section 4, R6), in base 32. */
export function newTotpSecret(): string {
  return new Secret({ size: 20 }).base32;
}

/** The address that an authenticator app reads. */
export function totpAddress(secret: string, account: string): string {
  return totp(secret, account).toString();
}

/**
 * Whether a code is right now, was right one step ago, or will be in one step (RFC 6238, section 5.2).
 *
 * @returns the number of the step, so that the same code can be refused a second time; or null
 */
export function totpStep(secret: string, code: string, nowMs: number): number | null {
  const digits = code.replaceAll(/\s/g, '');
  const delta = totp(secret, '').validate({ token: digits, timestamp: nowMs, window: 1 });
  return delta === null ? null : Math.floor(nowMs / 30_000) + delta;
}
