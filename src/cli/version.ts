import { readFileSync } from 'node:fs';
import { z } from 'zod';

const packageSchema = z.object({ version: z.string() });

/**
 * Returns the version from this package's own package.json, two folders up both in the source and as installed.
 */
export function readVersion(): string {
  const text = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
  return packageSchema.parse(JSON.parse(text)).version;
}
