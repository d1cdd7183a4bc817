import { createHash } from 'node:crypto';
import { gzipSync } from 'node:zlib';
import type { RequestHandler } from 'express';
import { readClientTexts } from './clientTexts.js';

type Asset = { address: string; type: string; body: Buffer; gzipped: Buffer };

export type Assets = {
  /** Style sheets and scripts of the clinic's pages and of the listening page, at content-addressed URLs. */
  style: string;
  script: string;
  listenStyle: string;
  listenScript: string;
  /** A module that the listening page loads when its settings are opened. */
  listenReminding: string;
  /**
   * The service worker of the listening page. It is served at each page's own address, because its scope depends on
   * that; it names the page's style sheet and script, so that it changes whenever they do.
   */
  worker: string;
  serve: RequestHandler;
};

/**
 * Prepares what browsers load, once, at startup.
 *
 * @param plainMessage what a phone shows for a message it cannot read: a title, and on the next line what to do
 */
export async function openAssets(plainMessage: string): Promise<Assets> {
  const texts = await readClientTexts();
  const style = styleOf(texts.clinicStyle);
  const script = scriptOf(texts.clinicScript);
  const listenStyle = styleOf(texts.listeningStyle);
  const listenScript = scriptOf(texts.listeningScript);
  const listenReminding = scriptOf(texts.reminding);
  const all = [style, script, listenStyle, listenScript, listenReminding];
  const byAddress = new Map(all.map((asset) => [asset.address, asset]));
  const [title = '', body = ''] = plainMessage.split('\n');
  // Its constants are known only now: addresses depend on content, words on the templates.
  const worker = [
    '"use strict";',
    `const PAGE_ASSETS=${JSON.stringify([listenStyle.address, listenScript.address])};`,
    `const PLAIN_MESSAGE=${JSON.stringify({ title, body })};`,
    texts.worker,
  ].join('\n');
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
      // On a slow network, a third of the bytes means hearing the session sooner. Pages contain secrets, and are not
      // compressed.
      if (request.acceptsEncodings('gzip', 'identity') !== 'gzip') return response.send(asset.body);
      return response.set('content-encoding', 'gzip').send(asset.gzipped);
    },
  };
}

function styleOf(text: string): Asset {
  return assetOf(text, 'css', 'text/css; charset=utf-8');
}

function scriptOf(text: string): Asset {
  return assetOf(text, 'js', 'text/javascript; charset=utf-8');
}

function assetOf(text: string, ending: string, type: string): Asset {
  const body = Buffer.from(text);
  const hash = createHash('sha256').update(body).digest('hex').slice(0, 16);
  return { address: `/assets/${hash}.${ending}`, type, body, gzipped: gzipSync(body, { level: 9 }) };
}
