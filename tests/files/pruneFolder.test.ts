import { mkdir, mkdtemp, readdir, rm, utimes, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { pruneFolder } from '../../src/files/pruneFolder.js';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-prune-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

/** A file that was last used so many days ago. */
async function file(name: string, bytes: number, daysAgo: number): Promise<void> {
  await mkdir(join(folder, name, '..'), { recursive: true });
  await writeFile(join(folder, name), Buffer.alloc(bytes));
  const usedAt = Date.UTC(2026, 10, 25) / 1000 - daysAgo * 86_400;
  await utimes(join(folder, name), usedAt, usedAt);
}
const names = async () =>
  (await readdir(folder, { recursive: true, withFileTypes: true }))
    .filter((entry) => entry.isFile())
    .map(({ name }) => name)
    .sort();

describe('a folder that is kept within a size', () => {
  it('loses what was not used for longest, and nothing while it is small enough', async () => {
    await file('a/old', 400, 30);
    await file('a/b/older', 400, 60);
    await file('c/new', 400, 1);
    expect(await pruneFolder(folder, 1_200)).toBe(0);
    expect(await pruneFolder(folder, 900)).toBe(1);
    expect(await names()).toEqual(['new', 'old']);
    expect(await pruneFolder(join(folder, 'nowhere'), 1)).toBe(0);
  });

  it('is never larger than it may be afterwards, and never loses a file newer than one that stays', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.record({ bytes: fc.integer({ min: 0, max: 500 }), days: fc.integer({ min: 0, max: 99 }) }),
          {
            maxLength: 12,
          },
        ),
        fc.integer({ min: 0, max: 3_000 }),
        async (files, most) => {
          await rm(folder, { recursive: true, force: true });
          await mkdir(folder);
          for (const [index, { bytes, days }] of files.entries()) await file(`f${index}`, bytes, days);
          const gone = await pruneFolder(folder, most);
          const left = (await names()).map((name) => files[Number(name.slice(1))]);
          expect(left.length + gone).toBe(files.length);
          expect(left.reduce((sum, each) => sum + (each?.bytes ?? 0), 0)).toBeLessThanOrEqual(most);
          const oldestLeft = Math.max(...left.map((each) => each?.days ?? 0));
          const taken = files.filter((each) => !left.includes(each));
          for (const each of taken) expect(each.days).toBeGreaterThanOrEqual(oldestLeft);
        },
      ),
      { numRuns: 60 },
    );
  });
});
