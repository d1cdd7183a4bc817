import { execFile } from 'node:child_process';
import { cp, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { writeBundles } from '../build/compile.js';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const root = here('../..');

/** The paths and environment for running compiled scripts. */
export type Compiled = { pathOf: (script: string) => string; env: NodeJS.ProcessEnv };

/**
 * Compiles the project and its benches as installed, for benches that run in a separate process so that no compiler
 * counts toward their memory; deletes the files afterward.
 */
export async function withCompiled<Result>(work: (compiled: Compiled) => Promise<Result>): Promise<Result> {
  // Inside the project, so that the compiled files find its packages.
  const built = await mkdtemp(join(root, 'node_modules', '.bench-'));
  try {
    // Pages and words are read from next to the code.
    await cp(join(root, 'src'), join(built, 'src'), { recursive: true });
    const options = ['--project', here('./tsconfig.json'), '--outDir', built];
    await promisify(execFile)(process.execPath, [join(root, 'node_modules/typescript/bin/tsc'), ...options]);
    await writeBundles(join(built, 'src', 'bundles'));
    await writeFile(join(built, 'package.json'), '{"type":"module"}');
    return await work({
      pathOf: (script) => join(built, 'scripts', 'bench', script),
      env: { ...process.env, STILLCOUNT_TEMPLATES: join(root, 'audio-templates') },
    });
  } finally {
    await rm(built, { recursive: true, force: true });
  }
}
