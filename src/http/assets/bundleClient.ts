import { fileURLToPath } from 'node:url';
import { type BuildOptions, build } from 'esbuild';
import type { ClientTexts } from './clientFiles.js';

/** The source folder of what browsers load. */
const browserFolder = fileURLToPath(new URL('../../../src/browser/', import.meta.url));

const bundling: BuildOptions = {
  bundle: true,
  minify: true,
  write: false,
  outdir: 'assets',
  outbase: browserFolder,
  // Listeners keep their phones for years: nothing newer than what 2021 browsers can read.
  target: ['chrome109', 'firefox115', 'safari15', 'ios15'],
};

/**
 * Bundles what browsers load from its source: once when the package is built, and within milliseconds at each start
 * from source. The bundler is not installed with the package.
 */
export async function bundleClient(): Promise<ClientTexts> {
  const [clinicStyle, clinicScript, listeningStyle, listeningScript, reminding, worker] = await Promise.all([
    bundle('workbench/style.css'),
    bundle('workbench/main.ts'),
    bundle('listen/listen.css'),
    bundle('listen/main.ts'),
    bundle('listen/reminding.ts', { format: 'esm' }),
    bundle('worker/main.ts'),
  ]);
  return { clinicStyle, clinicScript, listeningStyle, listeningScript, reminding, worker };
}

async function bundle(file: string, how: BuildOptions = {}): Promise<string> {
  const { outputFiles } = await build({ ...bundling, ...how, entryPoints: [`${browserFolder}${file}`] });
  const [output] = outputFiles ?? [];
  if (output === undefined) throw new Error(`${file} was not bundled`);
  return output.text;
}
