import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { isDeepStrictEqual } from 'node:util';
import type { BlobCache } from '../files/blobCache.js';
import { knownValue, learnValue } from '../yaml/knownTexts.js';
import { yamlValue } from '../yaml/parseYaml.js';

/** Increase this when the same text would be parsed differently, for example by another YAML parser. */
const meaningVersion = 1;

/** Returns the cache key for the parsed value of a text. */
export function meaningKey(text: string): string {
  return `yaml ${meaningVersion} ${createHash('sha256').update(text).digest('hex')}`;
}

/**
 * Reads a YAML file of the templates. Its parsed value is cached as JSON, so that the next start does not parse the
 * YAML again: without the cache, parsing all files takes most of a second, while JSON takes a few milliseconds. The
 * value is validated against its schema every time.
 *
 * @param cache holds values parsed by earlier processes; without it only this process remembers them
 * @throws the Node.js error for a file that cannot be read
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
  // Infinite numbers, for example, are valid in YAML but not in JSON; such a text is parsed again each time.
  if (!isDeepStrictEqual(JSON.parse(json), value)) return text;
  // If the folder cannot be written to, the next start takes longer, and nothing else is lost.
  await cache.put(meaningKey(text), Buffer.from(json)).catch(() => undefined);
  return text;
}
