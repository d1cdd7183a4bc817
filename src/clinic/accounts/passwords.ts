import { hash, verify } from '@node-rs/argon2';
import { z } from 'zod';

/** argon2id with 19 MiB, two passes, one lane: the least that the OWASP Password Storage Cheat Sheet allows. */
const passwordCost = { memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const;

/** Length is what counts, without composition rules (NIST SP 800-63B, 5.1.1.2, from memory: 8 at least, 64 allowed). */
export const passwordSchema = z
  .string()
  .min(12, { error: 'a password of at least 12 characters' })
  .max(200, { error: 'a password of at most 200 characters' });

/** Hashes a password for storage, with its cost and salt. Unicode is normalized first. */
export function hashPassword(password: string): Promise<string> {
  return hash(password.normalize('NFKC'), passwordCost);
}

/**
 * Whether this is the password. Without a hash, because there is no such account, it takes as long and returns false,
 * so that accounts cannot be found by guessing.
 */
export async function isPassword(password: string, storedHash: string | null): Promise<boolean> {
  decoy ??= hashPassword('nobody has this password');
  const matches = await verify(storedHash ?? (await decoy), password.normalize('NFKC'));
  return storedHash !== null && matches;
}

let decoy: Promise<string> | undefined;
