import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { type BuildOptions, build } from 'esbuild';
import type { RequestHandler } from 'express';

/** Beside this file's source, also when it runs compiled from `dist`. */
const clientFolder = fileURLToPath(new URL('../../src/web/client/', import.meta.url));

type Asset = { address: string; type: string; body: Buffer };

export type Assets = {
  /** Style sheets and scripts of the clinic's pages and of the listening page, under addresses that name their content. */
  style: string;
  script: string;
  listenStyle: string;
  listenScript: string;
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
  target: ['es2022', 'chrome109', 'firefox115', 'safari16'],
};

/**
 * Bundles what browsers load; takes some milliseconds, once, at start.
 *
 * @param plainMessage what a phone shows for a message that it cannot read: a title, and on the next line what to do
 */
export async function openAssets(plainMessage: string): Promise<Assets> {
  const [style, script, listenStyle, listenScript] = await Promise.all([
    bundled('style.css'),
    bundled('main.ts'),
    bundled('listen.css'),
    bundled('listen/main.ts'),
  ]);
  const byAddress = new Map(
    [style, script, listenStyle, listenScript].map((asset) => [asset.address, asset]),
  );
  const [title = '', body = ''] = plainMessage.split('\n');
  const worker = await textOf('worker/main.ts', {
    PAGE_ASSETS: JSON.stringify([listenStyle.address, listenScript.address]),
    PLAIN_MESSAGE: JSON.stringify({ title, body }),
  });
  return {
    style: style.address,
    script: script.address,
    listenStyle: listenStyle.address,
    listenScript: listenScript.address,
    worker,
    serve: (request, response, next) => {
      const asset = byAddress.get(request.path);
      if (asset === undefined) return next();
      response.set('cache-control', 'public, max-age=31536000, immutable').type(asset.type).send(asset.body);
    },
  };
}

async function bundled(file: string): Promise<Asset> {
  const body = Buffer.from(await textOf(file));
  const isStyle = file.endsWith('.css');
  const hash = createHash('sha256').update(body).digest('hex').slice(0, 16);
  return {
    address: `/assets/${hash}.${isStyle ? 'css' : 'js'}`,
    type: isStyle ? 'text/css; charset=utf-8' : 'text/javascript; charset=utf-8',
    body,
  };
}

/** @param define constants of the code, each as an expression */
async function textOf(file: string, define: Record<string, string> = {}): Promise<string> {
  const { outputFiles } = await build({ ...bundling, entryPoints: [`${clientFolder}${file}`], define });
  const [output] = outputFiles ?? [];
  if (output === undefined) throw new Error(`${file} was not bundled`);
  return output.text;
}
