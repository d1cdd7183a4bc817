import { randomInt, scrypt } from 'node:crypto';
import { promisify } from 'node:util';

/** Without letters that look like a digit or another letter, in print or by hand. */
const alphabet = '23456789ABCDEFGHJKMNPQRSTUVWXYZ';
const codeLength = 10;
const derive = promisify<string, string, number, { N: number }, Buffer>(scrypt);

/** A short code to type, for example `K7M4P 2XRTQ`: 49 bits, enough where tries are limited and hashing is slow. */
export function newShortCode(): string {
  const signs = Array.from({ length: codeLength }, () => alphabet[randomInt(alphabet.length)] ?? '');
  return `${signs.slice(0, 5).join('')} ${signs.slice(5).join('')}`;
}

/**
 * What the store keeps of a short code. It is looked up by its hash, so there is no per-code salt; a slow hash makes up
 * for the few bits (scrypt, RFC 7914, with N = 2^14, r = 8, p = 1 as in its section 2, from memory).
 *
 * @param typed in upper or lower case, with or without spaces and hyphens; look-alikes are read as what they can be
 */
export async function hashShortCode(typed: string): Promise<string> {
  const signs = typed.toUpperCase().replace(/[\s-]/g, '').slice(0, 40);
  return (await derive(signs, 'stillcount short code', 32, { N: 2 ** 14 })).toString('hex');
}
