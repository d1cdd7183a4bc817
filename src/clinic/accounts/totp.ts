import { Secret, TOTP } from 'otpauth';

/** Codes of six digits, a new one each 30 s (RFC 6238, SHA-1, which is what authenticator programs expect). */
function totp(secret: string, account: string): TOTP {
  return new TOTP({ issuer: 'Stillcount', label: account, secret: Secret.fromBase32(secret) });
}

/** A new shared secret, 160 bits (RFC 4226, section 4, R6), in base 32. */
export function newTotpSecret(): string {
  return new Secret({ size: 20 }).base32;
}

/** What an authenticator program reads. */
export function totpAddress(secret: string, account: string): string {
  return totp(secret, account).toString();
}

/**
 * Whether a code is right now, or was one step ago or will be in one (RFC 6238, section 5.2).
 *
 * @returns the number of the step, to refuse the same code a second time, or null
 */
export function totpStep(secret: string, code: string, nowMs: number): number | null {
  const digits = code.replaceAll(/\s/g, '');
  const delta = totp(secret, '').validate({ token: digits, timestamp: nowMs, window: 1 });
  return delta === null ? null : Math.floor(nowMs / 30_000) + delta;
}
