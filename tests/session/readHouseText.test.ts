import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { BlobCache } from '../../src/files/blobCache.js';
import { meaningKey, readHouseText } from '../../src/session/readHouseText.js';
import { parseHouseYaml, parseYaml } from '../../src/yaml/parseYaml.js';
import { refusalOf } from '../refusal.js';

let folder: string;
let cache: BlobCache;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-house-'));
  cache = new BlobCache(join(folder, 'cache'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const schema = z.strictObject({ reps: z.number().max(20), note: z.string().default('none') });

/** A text that no test before this one has read, as a file. */
async function fileOf(text: string): Promise<{ file: string; text: string }> {
  const own = `# ${crypto.randomUUID()}\n${text}`;
  const file = join(folder, `${crypto.randomUUID()}.yaml`);
  await writeFile(file, own);
  return { file, text: own };
}

/** What the cache has for a text, as a process that starts later would find it. */
async function keptOf(text: string): Promise<unknown> {
  const bytes = await cache.get(meaningKey(text));
  return bytes === null ? null : JSON.parse(Buffer.from(bytes).toString('utf8'));
}

describe('what a text of the house means', () => {
  it('is left to later starts exactly as the YAML reader found it, for every file of the house', async () => {
    const names = await readdir('audio-templates', { recursive: true });
    const files = names.filter((name) => name.endsWith('.yaml')).map((name) => join('audio-templates', name));
    expect(files.length).toBeGreaterThan(50);
    for (const house of [...files, 'src/text/words.yaml']) {
      const { file, text } = await fileOf(await readFile(house, 'utf8'));
      expect(await readHouseText(file, cache)).toBe(text);
      expect(await keptOf(text), house).toEqual(parse(text));
    }
  });

  it('is taken from what an earlier start left, and held against the schema all the same', async () => {
    const { file, text } = await fileOf('reps: 5');
    await cache.put(meaningKey(text), Buffer.from('{"reps": 7}'));
    expect(parseHouseYaml(await readHouseText(file, cache), file, schema)).toEqual({ reps: 7, note: 'none' });

    // What was left does not fit: the text itself decides.
    const other = await fileOf('reps: 5');
    await cache.put(meaningKey(other.text), Buffer.from('{"reps": 700}'));
    expect(parseHouseYaml(await readHouseText(other.file, cache), file, schema).reps).toBe(5);
  });

  it('is found anew where the cache is damaged, cannot be written or is not there', async () => {
    const { file, text } = await fileOf('reps: 5');
    await cache.put(meaningKey(text), Buffer.from('{"reps": 7}'));
    const entries = await readdir(cache.folder, { recursive: true, withFileTypes: true });
    for (const entry of entries.filter((each) => each.isFile())) {
      const path = join(entry.parentPath, entry.name);
      const bytes = await readFile(path);
      bytes[bytes.length - 2] = (bytes.at(-2) ?? 0) ^ 1;
      await writeFile(path, bytes);
    }
    expect(parseHouseYaml(await readHouseText(file, cache), file, schema).reps).toBe(5);
    expect(await keptOf(text)).toEqual({ reps: 5 });

    const nowhere = new BlobCache(join(file, 'a file is no folder'));
    for (const none of [nowhere, null]) {
      const next = await fileOf('reps: 6');
      expect(parseHouseYaml(await readHouseText(next.file, none), next.file, schema).reps).toBe(6);
    }
  });

  it('is not kept where JSON cannot say it', async () => {
    const { file, text } = await fileOf('most: .inf');
    const most = z.strictObject({ most: z.literal(Number.POSITIVE_INFINITY) });
    expect(parseHouseYaml(await readHouseText(file, cache), file, most).most).toBe(Number.POSITIVE_INFINITY);
    expect(await keptOf(text)).toBeNull();
  });

  it.each([
    ['a value outside of its limits', 'note: short\nreps: 21'],
    ['an unknown key', 'reps: 3\nrep: 4'],
    ['a text that is no YAML', 'reps: [3'],
    ['a file that is too large', `reps: 3 # ${'long '.repeat(50_000)}`],
  ])('changes no word of the refusal of %s', async (_name, content) => {
    const { file, text } = await fileOf(content);
    const plain = refusalOf(() => parseYaml(text, file, schema));
    expect(plain).toContain(file);
    await readHouseText(file, cache);
    for (const _again of [1, 2]) expect(refusalOf(() => parseHouseYaml(text, file, schema))).toEqual(plain);
  });

  it('cannot be changed by who was given it', async () => {
    const { file, text } = await fileOf('lines: [{say: "One."}]');
    const lines = z.strictObject({ lines: z.array(z.strictObject({ say: z.string() })) });
    const first = parseHouseYaml(await readHouseText(file, cache), file, lines);
    first.lines.push({ say: 'Two.' });
    for (const line of first.lines) line.say = 'Changed.';
    expect(parseHouseYaml(text, file, lines)).toEqual({ lines: [{ say: 'One.' }] });
  });
});
