import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import type { RequestHandler } from 'express';

/** Beside this file's source, also when it runs compiled from `dist`. */
const clientFolder = fileURLToPath(new URL('../../src/web/client/', import.meta.url));

type Asset = { address: string; type: string; body: Buffer };

/** The style sheet and the bundled script, each under an address that names its content. */
export type Assets = { style: string; script: string; serve: RequestHandler };

/** Bundles what browsers load; takes some milliseconds, once, at start. */
export async function openAssets(): Promise<Assets> {
  const result = await build({
    entryPoints: [`${clientFolder}main.ts`, `${clientFolder}style.css`],
    bundle: true,
    minify: true,
    write: false,
    outdir: 'assets',
    target: ['es2022', 'chrome109', 'firefox115', 'safari16'],
  });
  const assets = result.outputFiles.map(({ path, contents }): Asset => {
    const isStyle = path.endsWith('.css');
    const hash = createHash('sha256').update(contents).digest('hex').slice(0, 16);
    return {
      address: `/assets/${hash}.${isStyle ? 'css' : 'js'}`,
      type: isStyle ? 'text/css; charset=utf-8' : 'text/javascript; charset=utf-8',
      body: Buffer.from(contents),
    };
  });
  const addressOf = (ending: string) =>
    assets.find(({ address }) => address.endsWith(ending))?.address ?? `/assets/missing${ending}`;
  const byAddress = new Map(assets.map((asset) => [asset.address, asset]));
  return {
    style: addressOf('.css'),
    script: addressOf('.js'),
    serve: (request, response, next) => {
      const asset = byAddress.get(request.path);
      if (asset === undefined) return next();
      response.set('cache-control', 'public, max-age=31536000, immutable').type(asset.type).send(asset.body);
    },
  };
}
