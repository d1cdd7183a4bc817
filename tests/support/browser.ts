import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

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
