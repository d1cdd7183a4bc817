import { hash, verify } from '@node-rs/argon2';
import { z } from 'zod';

/** argon2id with 19 MiB, two passes, one lane: the least that the OWASP Password Storage Cheat Sheet allows. */
const passwordCost = { memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const;

/** Length is what counts, without rules of composition (NIST SP 800-63B, 5.1.1.2, from memory: 8 at least, 64 allowed). */
export const passwordSchema = z
  .string()
  .min(12, { error: 'a password of at least 12 characters' })
  .max(200, { error: 'a password of at most 200 characters' });

/** Hash of a password, with its cost and salt, as it is kept. Unicode is brought to one form first. */
export function hashPassword(password: string): Promise<string> {
  return hash(password.normalize('NFKC'), passwordCost);
}

/**
 * Whether this is the password. Without a hash, because there is no such account, as much time is spent and the
 * answer is no, so that accounts cannot be found by trying.
 */
export async function isPassword(password: string, kept: string | null): Promise<boolean> {
  decoy ??= hashPassword('nobody has this password');
  const matches = await verify(kept ?? (await decoy), password.normalize('NFKC'));
  return kept !== null && matches;
}

let decoy: Promise<string> | undefined;
