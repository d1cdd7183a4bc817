import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { isDeepStrictEqual } from 'node:util';
import type { BlobCache } from '../files/blobCache.js';
import { knownValue, learnValue } from '../yaml/knownTexts.js';
import { yamlValue } from '../yaml/parseYaml.js';

/** To be raised when a text comes to mean something else, as with another YAML reader. */
const meaningVersion = 1;

/** The key under which the cache keeps what a text means. */
export function meaningKey(text: string): string {
  return `yaml ${meaningVersion} ${createHash('sha256').update(text).digest('hex')}`;
}

/**
 * Reads a YAML file of the house. What its text means is kept in the cache as JSON, so that the next start need not
 * find it out again: cold, the YAML reader takes most of a second for all of them, JSON some milliseconds. The value is
 * held against its schema all the same.
 *
 * @param cache where earlier processes left what they found; without it only this process remembers
 * @throws what Node.js throws for a file that cannot be read
 */
export async function readHouseText(file: string, cache: BlobCache | null): Promise<string> {
  const text = await readFile(file, 'utf8');
  if (cache === null || knownValue(text) !== undefined) return text;
  const cached = cache.getSync(meaningKey(text));
  if (cached !== null) {
    learnValue(text, JSON.parse(Buffer.from(cached).toString('utf8')));
    return text;
  }
  const value = yamlValue(text);
  if (value === undefined) return text;
  learnValue(text, value);
  const json = JSON.stringify(value);
  // Numbers without end, for example, are YAML and not JSON: such a text is read again each time.
  if (!isDeepStrictEqual(JSON.parse(json), value)) return text;
  // A folder that cannot be written to costs time at the next start, and nothing else.
  await cache.put(meaningKey(text), Buffer.from(json)).catch(() => undefined);
  return text;
}
