import { Resvg } from '@resvg/resvg-js';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { catalogueFigure } from '../../src/documents/figures/exerciseFigure.js';
import { figureSheet } from '../../src/documents/figures/sheet.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { hasChromium, openBrowser, whyNoChromium } from '../support/browser.js';

/** How many pixels there are, are dark in the first picture, and differ by more than a third of the scale. */
type Differs = { all: number; inked: number; far: number };

/** Runs in the page. */
const comparePixels = `async ({ sources, width, height }) => {
  const [ours, theirs] = await Promise.all(sources.map(async (source) => {
    const image = new Image();
    image.src = source;
    await image.decode();
    const context = new OffscreenCanvas(width, height).getContext('2d');
    context.drawImage(image, 0, 0, width, height);
    return context.getImageData(0, 0, width, height).data;
  }));
  const differs = { all: ours.length / 4, inked: 0, far: 0 };
  for (let at = 0; at < ours.length; at += 4) {
    if ([0, 1, 2].some((part) => Math.abs(ours[at + part] - theirs[at + part]) > 96)) differs.far += 1;
    if (ours[at] < 200) differs.inked += 1;
  }
  return differs;
}`;

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

describe.skipIf(!hasChromium)(`two renderers${hasChromium ? '' : ` (${whyNoChromium})`}`, () => {
  it('draw every figure alike: Chromium and resvg', async () => {
    const english = (await readCatalogues('audio-templates')).get('en');
    const figures = [...(english?.exercises.values() ?? [])].flatMap((exercise) => {
      const figure = catalogueFigure(exercise, english?.figureWords ?? null);
      // Without names: letters are drawn by other rules in each.
      return figure === null ? [] : [{ name: null, figure }];
    });
    const svg = figureSheet(figures);
    const painted = new Resvg(svg, { fitTo: { mode: 'zoom', value: 0.5 } }).render();
    const png = `data:image/png;base64,${painted.asPng().toString('base64')}`;
    const page = await browser.newPage();
    const sources = [png, `data:image/svg+xml;base64,${Buffer.from(svg).toString('base64')}`];
    const differs = await page.evaluate<Differs>(
      `(${comparePixels})(${JSON.stringify({ sources, width: painted.width, height: painted.height })})`,
    );
    await page.close();
    // A tenth of the sheet is drawn dark; what differs is at most the edges of lines, by less than a pixel.
    expect(differs.inked / differs.all).toBeGreaterThan(0.02);
    expect(differs.far / differs.all).toBeLessThan(0.0005);
  });
});
