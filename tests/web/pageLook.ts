import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { expect } from 'vitest';
import { accessibilityFaults } from './browser.js';

/** Pictures of the clinic's pages, to be looked at. */
const pictures = 'output/pictures';

/** What goes wrong with colors does so at any width, and what goes wrong with the width by day and by night. */
const ways = [
  { width: 390, colorScheme: 'light' },
  { width: 1440, colorScheme: 'dark' },
] as const;

/** A page at the width of a phone and of a desk, by day and by night: no fault for axe-core, nothing cut off. */
export async function lookAt(page: Page, name: string): Promise<void> {
  await mkdir(pictures, { recursive: true });
  for (const { width, colorScheme } of ways) {
    await page.emulateMedia({ colorScheme });
    await page.setViewportSize({ width, height: 900 });
    expect(await accessibilityFaults(page), `${name}, ${width} px, ${colorScheme}`).toEqual([]);
    const overflow = await page.evaluate('document.documentElement.scrollWidth - innerWidth');
    expect(overflow, `${name} is wider than a screen of ${width} px`).toBeLessThanOrEqual(0);
    const path = join(pictures, `${name}-${width}-${colorScheme}.png`);
    await page.screenshot({ path, fullPage: true });
  }
}
