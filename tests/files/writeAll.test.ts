import { mkdtemp, open, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { writeAll } from '../../src/files/writeAll.js';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-pieces-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

describe('writing pieces', () => {
  it('writes every byte once and in order, however few of them the system takes at a time', async () => {
    const pieces = fc.array(fc.uint8Array({ maxLength: 40 }), { maxLength: 12 });
    await fc.assert(
      fc.asyncProperty(pieces, fc.integer({ min: 1, max: 60 }), async (given, mostAtOnce) => {
        const path = join(folder, 'written');
        const file = await open(path, 'w');
        // A real file that takes no more than so many bytes of the first pieces.
        const writev = (left: readonly Uint8Array[]) =>
          file.write(Buffer.concat(left).subarray(0, mostAtOnce));
        await writeAll({ writev }, given).finally(() => file.close());
        expect((await readFile(path)).equals(Buffer.concat(given))).toBe(true);
      }),
    );
  });

  it('gives thousands of pieces to the system as they are', async () => {
    const path = join(folder, 'many');
    const given = Array.from({ length: 5_000 }, (_, at) => Buffer.from(`${at},`));
    const file = await open(path, 'w');
    await writeAll(file, given).finally(() => file.close());
    expect(await readFile(path, 'utf8')).toBe(given.join(''));
  });
});
