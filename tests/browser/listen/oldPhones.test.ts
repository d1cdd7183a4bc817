import { createServer, type Server } from 'node:http';
import { transform } from 'esbuild';
import express from 'express';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Assets, openAssets } from '../../../src/http/assets/assets.js';
import { guarded, newer } from './newer.js';

/** Everything that a telephone reads of the listening page, as it is sent. */
describe('what a telephone of 2021 reads', () => {
  let assets: Assets;
  let server: Server;
  const texts = new Map<string, string>();

  beforeAll(async () => {
    assets = await openAssets('Reminder\nOpen the page');
    server = createServer(express().use(assets.serve));
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const address = server.address();
    const port = typeof address === 'object' && address !== null ? address.port : 0;
    for (const path of [assets.listenScript, assets.listenReminding]) {
      texts.set(path, await (await fetch(`http://127.0.0.1:${port}${path}`)).text());
    }
    texts.set('worker.js', assets.worker);
  });
  afterAll(() => server.close());

  it('uses no interface and no syntax that is newer than iOS 15.0', () => {
    for (const [where, text] of texts) {
      expect(text.length, where).toBeGreaterThan(1_000);
      const used = Object.entries(newer).filter(([, { pattern }]) => pattern.test(text));
      expect(
        used.map(([name, { since }]) => `${name}: Safari ${since}`),
        where,
      ).toEqual([]);
    }
  });

  it('would be caught using one', () => {
    const caught = Object.values(newer).filter(({ pattern }) =>
      pattern.test('fetch(a,{signal:AbortSignal.timeout(1)});b.at(-1);/(?<=c)d/'),
    );
    expect(caught).toHaveLength(3);
  });

  it('uses of the newer ones only those that it asks for first', () => {
    const all = [...texts.values()].join('\n');
    for (const [name, { pattern }] of Object.entries(guarded)) expect(all, name).toMatch(pattern);
  });

  it('is syntax that the bundler itself need not change for Safari 15', async () => {
    for (const [where, text] of texts) {
      const plain = async (target: string) =>
        (await transform(text, { target, minify: true, legalComments: 'none' })).code;
      expect(await plain('safari15'), where).toBe(await plain('esnext'));
    }
  });
});
