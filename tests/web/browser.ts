import { existsSync } from 'node:fs';
import { AxeBuilder } from '@axe-core/playwright';
import { type Browser, chromium, type Page } from 'playwright-core';

/** Debian's Chromium; another one can be named. */
export const chromiumPath = process.env.STILLCOUNT_TEST_CHROMIUM ?? '/usr/bin/chromium';
export const hasChromium = existsSync(chromiumPath);
export const whyNoChromium = 'no Chromium is installed (Debian: apt-get install chromium)';

export const chromiumArguments = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--autoplay-policy=no-user-gesture-required',
];

export function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: chromiumPath, args: chromiumArguments });
}

/** What axe-core finds against WCAG 2.2 A and AA, in short. */
export async function accessibilityFaults(page: Page): Promise<string[]> {
  const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
  // Our pages have no frames: nothing has to be put together in a page of its own, which takes longer than looking.
  const { violations } = await new AxeBuilder({ page }).setLegacyMode(true).withTags(tags).analyze();
  return violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`));
}
