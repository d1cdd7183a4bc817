import { verify } from '@node-rs/argon2';
import { describe, expect, it } from 'vitest';
import { hashPassword, isPassword, passwordSchema } from '../../../src/clinic/accounts/passwords.js';
import { newTotpSecret, totpAddress, totpStep } from '../../../src/clinic/accounts/totp.js';
import { hashToken, newToken, sameSecret } from '../../../src/clinic/tokens.js';

describe('passwords', () => {
  it('are kept as argon2id at a cost that OWASP names (Password Storage Cheat Sheet: m=19456, t=2, p=1)', async () => {
    const kept = await hashPassword('four quiet words here');
    expect(kept).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
    expect(await verify(kept, 'four quiet words here'), 'read back by the library itself').toBe(true);
    expect(await hashPassword('four quiet words here'), 'each with a salt of its own').not.toBe(kept);
  });

  it('are known again, and only they', async () => {
    const kept = await hashPassword('Übung macht Freude 12');
    expect(await isPassword('Übung macht Freude 12', kept)).toBe(true);
    expect(await isPassword('U\u0308bung macht Freude 12', kept), 'the same letters in another form').toBe(
      true,
    );
    expect(await isPassword('übung macht Freude 12', kept)).toBe(false);
    expect(await isPassword('nobody has this password', null), 'no account, not even for the decoy').toBe(
      false,
    );
  });

  it('may be long and of any characters, but not short', () => {
    expect(passwordSchema.safeParse('elevenchars').success).toBe(false);
    expect(passwordSchema.safeParse('twelve chars').success).toBe(true);
    expect(passwordSchema.safeParse('多'.repeat(64)).success).toBe(true);
    expect(passwordSchema.safeParse('x'.repeat(201)).success).toBe(false);
  });
});

describe('tokens', () => {
  it('carry 256 bits and are kept as something else', () => {
    const tokens = Array.from({ length: 200 }, newToken);
    expect(new Set(tokens).size).toBe(200);
    for (const token of tokens) {
      expect(token).toMatch(/^[\w-]{43}$/);
      expect(Buffer.from(token, 'base64url')).toHaveLength(32);
      expect(hashToken(token)).not.toContain(token);
    }
  });

  it('are hashed with SHA-256 (FIPS 180-4, example "abc")', () => {
    expect(hashToken('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  });

  it('are compared whole', () => {
    expect(sameSecret('one', 'one')).toBe(true);
    expect(sameSecret('one', 'onf')).toBe(false);
    expect(sameSecret('one', 'one ')).toBe(false);
  });
});

describe('the second step', () => {
  // RFC 6238, appendix B: the SHA-1 rows, whose secret is the ASCII text 12345678901234567890; last six digits.
  const secret = 'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ';
  const rows: [number, string][] = [
    [59, '94287082'],
    [1_111_111_109, '07081804'],
    [1_111_111_111, '14050471'],
    [1_234_567_890, '89005924'],
    [2_000_000_000, '69279037'],
    [20_000_000_000, '65353130'],
  ];

  it.each(rows)('accepts the code of the standard at %d s', (seconds, code) => {
    expect(totpStep(secret, code.slice(2), seconds * 1000)).toBe(Math.floor(seconds / 30));
  });

  it('accepts one step early or late and names the step, and nothing further away', () => {
    const at = 1_111_111_109_000;
    const step = Math.floor(at / 30_000);
    expect(totpStep(secret, '081 804', at + 30_000), 'with a space, as programs show it').toBe(step);
    expect(totpStep(secret, '081804', at - 30_000)).toBe(step);
    expect(totpStep(secret, '081804', at + 61_000)).toBeNull();
    expect(totpStep(secret, '081805', at)).toBeNull();
    expect(totpStep(secret, '', at)).toBeNull();
  });

  it('is set up with 160 bits and an address that authenticator programs read', () => {
    const fresh = newTotpSecret();
    expect(fresh).toMatch(/^[A-Z2-7]{32}$/);
    const address = new URL(totpAddress(fresh, 'ada@example.org'));
    expect(address.protocol).toBe('otpauth:');
    expect(address.searchParams.get('secret')).toBe(fresh);
  });
});
