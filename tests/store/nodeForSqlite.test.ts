import { readFile } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { endsAtRandom } from '../../src/store/nodeForSqlite.js';

/** Run for this table, on Linux: fifty databases opened, closed and cleared away while other memory was used up. */
const tried: readonly [node: string, module: string, aborted: boolean][] = [
  ['20.20.2', '12.11.1', false],
  ['22.23.3', '12.11.1', false],
  ['24.21.0', '12.11.1', true],
  ['24.21.0', '13.2.0', false],
];

describe('a version of Node.js that ends a process with the database module at random', () => {
  it.each(tried)('Node.js %s with version %s of it: %s', (node, module, aborted) => {
    expect(endsAtRandom(node, module)).toBe(aborted);
  });

  it('is not this one', async () => {
    const text = await readFile('node_modules/better-sqlite3/package.json', 'utf8');
    const { version } = z.object({ version: z.string() }).parse(JSON.parse(text));
    expect(endsAtRandom(process.versions.node, version)).toBe(false);
  });
});
