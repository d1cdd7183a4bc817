import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { type BuildOptions, build } from 'esbuild';
import type { RequestHandler } from 'express';

/** Beside this file's source, also when it runs compiled from `dist`. */
const clientFolder = fileURLToPath(new URL('../../src/web/client/', import.meta.url));

type Asset = { address: string; type: string; body: Buffer; gzipped: Buffer };

export type Assets = {
  /** Style sheets and scripts of the clinic's pages and of the listening page, under addresses that name their content. */
  style: string;
  script: string;
  listenStyle: string;
  listenScript: string;
  /** A module that the listening page loads when somebody looks at its settings. */
  listenReminding: string;
  /**
   * The service worker of the listening page. It stands at each page's own address, because that is where it may
   * work; it names the page's style sheet and script, so that it changes whenever they do.
   */
  worker: string;
  serve: RequestHandler;
};

const bundling: BuildOptions = {
  bundle: true,
  minify: true,
  write: false,
  outdir: 'assets',
  outbase: clientFolder,
  // Listeners keep telephones for long: nothing newer than those of 2021 can read.
  target: ['chrome109', 'firefox115', 'safari15', 'ios15'],
};

/**
 * Bundles what browsers load; takes some milliseconds, once, at start.
 *
 * @param plainMessage what a phone shows for a message that it cannot read: a title, and on the next line what to do
 */
export async function openAssets(plainMessage: string): Promise<Assets> {
  const [style, script, listenStyle, listenScript, listenReminding] = await Promise.all([
    bundled('style.css'),
    bundled('main.ts'),
    bundled('listen.css'),
    bundled('listen/main.ts'),
    bundled('listen/reminding.ts', { format: 'esm' }),
  ]);
  const all = [style, script, listenStyle, listenScript, listenReminding];
  const byAddress = new Map(all.map((asset) => [asset.address, asset]));
  const [title = '', body = ''] = plainMessage.split('\n');
  const worker = await textOf('worker/main.ts', {
    // Constants of the code, each as an expression.
    define: {
      PAGE_ASSETS: JSON.stringify([listenStyle.address, listenScript.address]),
      PLAIN_MESSAGE: JSON.stringify({ title, body }),
    },
  });
  return {
    style: style.address,
    script: script.address,
    listenStyle: listenStyle.address,
    listenScript: listenScript.address,
    listenReminding: listenReminding.address,
    worker,
    serve: (request, response, next) => {
      const asset = byAddress.get(request.path);
      if (asset === undefined) return next();
      response
        .set({ 'cache-control': 'public, max-age=31536000, immutable', vary: 'accept-encoding' })
        .type(asset.type);
      // Over a slow network a third of the bytes is heard sooner. Pages hold secrets, and are not compressed.
      if (request.acceptsEncodings('gzip', 'identity') !== 'gzip') return response.send(asset.body);
      return response.set('content-encoding', 'gzip').send(asset.gzipped);
    },
  };
}

async function bundled(file: string, how: BuildOptions = {}): Promise<Asset> {
  const body = Buffer.from(await textOf(file, how));
  const isStyle = file.endsWith('.css');
  const hash = createHash('sha256').update(body).digest('hex').slice(0, 16);
  return {
    address: `/assets/${hash}.${isStyle ? 'css' : 'js'}`,
    type: isStyle ? 'text/css; charset=utf-8' : 'text/javascript; charset=utf-8',
    body,
    gzipped: gzipSync(body, { level: 9 }),
  };
}

async function textOf(file: string, how: BuildOptions): Promise<string> {
  const { outputFiles } = await build({ ...bundling, ...how, entryPoints: [`${clientFolder}${file}`] });
  const [output] = outputFiles ?? [];
  if (output === undefined) throw new Error(`${file} was not bundled`);
  return output.text;
}
