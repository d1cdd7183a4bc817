import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';
import { isWhole } from '../long.js';

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

/** Debian's chromium-headless-shell, of the same version. */
const shellPath = '/usr/bin/chromium-headless-shell';

/**
 * The same Chromium without its own windows, where it is installed: it takes half of the processor time, and lacks
 * notifications. The whole check opens every page in the whole browser.
 */
function quickestPath(): string {
  const mayBeShell = process.env.STILLCOUNT_TEST_CHROMIUM === undefined && !isWhole('pages');
  return mayBeShell && existsSync(shellPath) ? shellPath : chromiumPath;
}

export function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: quickestPath(), args: chromiumArguments });
}
