import { execFile } from 'node:child_process';
import { cp, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { writeBundles } from '../build/compile.js';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const root = here('../..');

/** What a compiled script runs in. */
export type Compiled = { pathOf: (script: string) => string; env: NodeJS.ProcessEnv };

/**
 * Compiles the project and its benches as installed, for those that run in a process of their own, so that its memory
 * is its own and no compiler's; takes it away after the work.
 */
export async function withCompiled<Result>(work: (compiled: Compiled) => Promise<Result>): Promise<Result> {
  // Inside the project, where the compiled files find its packages.
  const built = await mkdtemp(join(root, 'node_modules', '.bench-'));
  try {
    // Pages and words are read from beside the code.
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
