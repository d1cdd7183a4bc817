import { mkdir, readdir, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { bundleClient } from '../../src/http/assets/bundleClient.js';
import { clientFiles } from '../../src/http/assets/clientFiles.js';

const root = fileURLToPath(new URL('../..', import.meta.url));

/**
 * Compiles the project into `dist`, as it is packed and installed: the code, file by file, and the browser code as
 * bundles. Everything is built from scratch, so that no old file is left. Types are checked elsewhere.
 */
export async function compile(): Promise<void> {
  const dist = join(root, 'dist');
  await rm(dist, { recursive: true, force: true });
  const names = await readdir(join(root, 'src'), { recursive: true });
  const sources = names.filter(
    // The bundler runs before packing and is not packed.
    (name) => /\.ts$/.test(name) && !/\.d\.ts$|^browser\b|bundleClient/.test(name),
  );
  await build({
    entryPoints: sources.map((name) => join(root, 'src', name)),
    outbase: join(root, 'src'),
    outdir: dist,
    format: 'esm',
    platform: 'node',
  });
  await writeBundles(join(dist, 'bundles'));
}

/** Writes the browser bundles where compiled code looks for them: in `bundles`, beside `http`. */
export async function writeBundles(folder: string): Promise<void> {
  await mkdir(folder, { recursive: true });
  const texts = await bundleClient();
  await Promise.all([
    writeFile(join(folder, clientFiles.clinicStyle), texts.clinicStyle),
    writeFile(join(folder, clientFiles.clinicScript), texts.clinicScript),
    writeFile(join(folder, clientFiles.listeningStyle), texts.listeningStyle),
    writeFile(join(folder, clientFiles.listeningScript), texts.listeningScript),
    writeFile(join(folder, clientFiles.reminding), texts.reminding),
    writeFile(join(folder, clientFiles.worker), texts.worker),
  ]);
}
