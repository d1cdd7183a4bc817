import { readFile } from 'node:fs/promises';
import { expect, it } from 'vitest';
import { z } from 'zod';
import { readVersion } from '../../src/cli/version.js';

const versioned = z.object({ version: z.string() });

it('the package, its lock file and the newest entry of the changelog name one version', async () => {
  const lock = versioned.parse(JSON.parse(await readFile('package-lock.json', 'utf8')));
  const changelog = await readFile('CHANGELOG.md', 'utf8');
  const entries = [...changelog.matchAll(/^## (\d+\.\d+\.\d+)/gm)].map(([, number]) => number);
  expect([lock.version, entries[0]]).toEqual([readVersion(), readVersion()]);
});
