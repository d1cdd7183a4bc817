import { basename, join } from 'node:path';
import { build } from 'esbuild';

/**
 * Compiles a program of the tests, which is started many times, into few files: many starts from the source would take many
 * minutes. They lie in the project, where they find the packages that cannot be in them.
 *
 * @returns the file to start
 */
export async function bundleProgram(source: string): Promise<string> {
  const outdir = join('dist', 'tests');
  await build({
    ...{ entryPoints: [source], outdir, bundle: true, minify: true },
    // What is loaded when it is needed stays in files of its own.
    splitting: true,
    ...{ external: ['better-sqlite3', 'pg', 'pg-native'], format: 'esm', platform: 'node' },
    banner: {
      js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);",
    },
  });
  return join(outdir, basename(source).replace(/\.ts$/, '.js'));
}
