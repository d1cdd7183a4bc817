import { readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { build } from 'esbuild';

/**
 * Compiles the project once for the tests that start it as a process of its own, as it is installed: hundreds of
 * starts from the source would compile it hundreds of times. Beside `src`, where it finds its pages and words; made
 * anew in each run, so that it is never an old one.
 */
export default async function compile(): Promise<void> {
  await rm('dist', { recursive: true, force: true });
  const names = await readdir('src', { recursive: true });
  const sources = names.filter((name) => /\.ts$/.test(name) && !/\.d\.ts$|^web.client/.test(name));
  const entryPoints = sources.map((name) => join('src', name));
  await build({ entryPoints, outbase: 'src', outdir: 'dist', format: 'esm', platform: 'node' });
}
