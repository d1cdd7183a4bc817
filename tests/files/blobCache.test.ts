import { mkdtemp, readdir, readFile, rename, rm, stat, truncate, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { BlobCache } from '../../src/files/blobCache.js';
import { damage, damages } from '../damage.js';
import { processorMs } from '../processorTime.js';

let folder: string;
let cache: BlobCache;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-blobs-'));
  cache = new BlobCache(folder);
});
afterEach(async () => {
  await rm(folder, { recursive: true, force: true });
});

async function entryPaths(): Promise<string[]> {
  const names = await readdir(folder, { recursive: true });
  const paths = names.map((name) => join(folder, name)).sort();
  const files = await Promise.all(paths.map(async (path) => (await stat(path)).isFile()));
  return paths.filter((_, index) => files[index]);
}

async function onlyEntry(): Promise<string> {
  const [path, ...others] = await entryPaths();
  if (path === undefined || others.length > 0) return expect.unreachable('there should be one entry');
  return path;
}

describe('the cache of made things', () => {
  it('has nothing at first and needs no folder to say so', async () => {
    const fresh = new BlobCache(join(folder, 'not', 'there'));
    expect(await fresh.get('a')).toBeNull();
    expect(fresh.getSync('a')).toBeNull();
  });

  it('gives back what was put, whatever the key and the bytes', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.string({ unit: 'binary' }),
        fc.uint8Array({ maxLength: 5000 }),
        async (key, bytes) => {
          await cache.put(key, bytes);
          expect(Buffer.from((await cache.get(key)) ?? 'absent').equals(bytes)).toBe(true);
          expect(Buffer.from(cache.getSync(key) ?? 'absent').equals(bytes)).toBe(true);
        },
      ),
      { numRuns: 50 },
    );
  });

  it('notices any single changed byte, any cut and any addition, and removes the entry', async () => {
    await cache.put('count', Buffer.from('five four three two one'));
    const path = await onlyEntry();
    const whole = await readFile(path);
    const damaged = [
      ...Array.from(whole, (byte, at) => {
        const copy = Buffer.from(whole);
        copy[at] = byte ^ 0x40;
        return copy;
      }),
      ...Array.from(whole, (_, length) => whole.subarray(0, length)),
      Buffer.concat([whole, Buffer.from([0])]),
    ];
    for (const bytes of damaged) {
      await writeFile(path, bytes);
      expect(cache.getSync('count')).toBeNull();
      expect(await entryPaths()).toEqual([]);
    }
    await writeFile(path, whole);
    expect(cache.getSync('count'), 'the control: undamaged, it is read').not.toBeNull();
    await truncate(path, 60);
    expect(await cache.get('count')).toBeNull();
    expect(await entryPaths()).toEqual([]);
  });

  it('takes nothing for an entry that is none, and keeps a new one in its place', async () => {
    const other = new BlobCache(join(folder, 'other'));
    await other.put('another', Buffer.from('another'));
    const [otherPath] = await entryPaths();
    const replacement = await readFile(otherPath ?? '');
    await rm(join(folder, 'other'), { recursive: true });
    for (const each of damages) {
      await cache.put('count', Buffer.from('five four three two one'));
      await damage(await onlyEntry(), each, replacement);
      const found = await cache.get('count');
      if (each.name !== 'not readable') expect(found, each.name).toBeNull();
      expect(found === null || Buffer.from(found).equals(Buffer.from('five four three two one'))).toBe(true);
      expect(cache.getSync('count')).toEqual(found);
      await cache.put('count', Buffer.from('five four three two one'));
      expect(Buffer.from((await cache.get('count')) ?? []).toString(), each.name).toContain('five');
    }
  });

  it('notices a sound entry that stands under another key', async () => {
    await cache.put('left', Buffer.from('left'));
    const leftPath = await onlyEntry();
    await cache.put('right', Buffer.from('right'));
    const rightPath = (await entryPaths()).find((path) => path !== leftPath);
    if (rightPath === undefined) return expect.unreachable('there should be two entries');
    await rename(leftPath, rightPath);
    expect(await cache.get('right')).toBeNull();
    expect(await entryPaths()).toEqual([]);
  });

  it('lets writers and readers of one key race', async () => {
    const bytes = Buffer.alloc(200_000, 7);
    const rivals = Array.from({ length: 4 }, () => new BlobCache(folder));
    await Promise.all(
      Array.from({ length: 40 }, async (_, index) => {
        const rival = rivals[index % rivals.length] ?? cache;
        if (index % 2 === 0) return rival.put('same', bytes);
        const read = await rival.get('same');
        expect(read === null || bytes.equals(read)).toBe(true);
      }),
    );
    expect(bytes.equals((await cache.get('same')) ?? Buffer.alloc(0))).toBe(true);
    expect(await entryPaths()).toHaveLength(1);
  });

  it('reports a folder that cannot be written', async () => {
    await writeFile(join(folder, 'file'), '');
    const blocked = new BlobCache(join(folder, 'file'));
    await expect(blocked.put('a', Buffer.from('a'))).rejects.toMatchObject({ kind: 'work' });
    expect(blocked.getSync('a')).toBeNull();
  });

  it('reads 300 small entries in well under the time of one spoken word', async () => {
    const keys = Array.from({ length: 300 }, (_, index) => `segment ${index}`);
    await Promise.all(keys.map((key) => cache.put(key, Buffer.alloc(6000, 1))));
    const bestMs = Math.min(
      ...[1, 2, 3].map(() => {
        const before = process.cpuUsage();
        for (const key of keys) expect(cache.getSync(key)?.length).toBe(6000);
        return processorMs(before);
      }),
    );
    expect(bestMs).toBeLessThan(150);
  });
});
