import { readFileSync } from 'node:fs';
import { z } from 'zod';

const packageSchema = z.object({ version: z.string() });

/**
 * The version of this package, from its own description, which stands two folders up in the source and as installed.
 */
export function readVersion(): string {
  const text = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
  return packageSchema.parse(JSON.parse(text)).version;
}
