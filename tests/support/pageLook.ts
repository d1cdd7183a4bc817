import type { Page } from 'playwright-core';
import { expect } from 'vitest';
import { axeFaults, wcagTags } from './axe.js';
import { takePicture } from './picture.js';

/** What goes wrong with colors does so at any width, and what goes wrong with the width by day and by night. */
const ways = [
  { width: 390, colorScheme: 'light' },
  { width: 1440, colorScheme: 'dark' },
] as const;

/** A page at the width of a phone and of a desk, by day and by night: no fault for axe-core, nothing cut off. */
export async function lookAt(page: Page, name: string): Promise<void> {
  for (const { width, colorScheme } of ways) {
    await page.emulateMedia({ colorScheme });
    await page.setViewportSize({ width, height: 900 });
    const faults = await axeFaults(page, { runOnly: { type: 'tag', values: wcagTags } });
    expect(faults, `${name}, ${width} px, ${colorScheme}`).toEqual([]);
    const overflow = await page.evaluate('document.documentElement.scrollWidth - innerWidth');
    expect(overflow, `${name} is wider than a screen of ${width} px`).toBeLessThanOrEqual(0);
    await takePicture(page, `${name}-${width}-${colorScheme}`);
  }
}
