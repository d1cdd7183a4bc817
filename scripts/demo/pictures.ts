/**
 * Retakes the screenshots in the README from the demo clinic in a real browser:
 *
 *     npx tsx scripts/demo/pictures.ts
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { chromium, type Page } from 'playwright-core';
import { startService } from '../../src/service/start.js';

const folder = await mkdtemp(path.join(tmpdir(), 'stillcount-pictures-'));
const service = await startService(
  { ...process.env, STILLCOUNT_DATA: folder, STILLCOUNT_PORT: '0' },
  () => undefined,
  { isDemo: true },
);
const { demo, address } = service;
if (demo === null) throw new Error('the demo clinic was not opened');
const executablePath = process.env.STILLCOUNT_TEST_CHROMIUM ?? '/usr/bin/chromium';
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu'] });
try {
  const page = await browser.newPage({ viewport: { width: 1000, height: 760 }, reducedMotion: 'reduce' });
  await page.goto(`${address}/sign-in`);
  await page.getByLabel('Email address').fill(demo.email);
  await page.getByLabel('Password').fill(demo.password);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.getByRole('heading', { name: 'Needs attention' }).waitFor();
  await take(page, 'people');
  await page.getByRole('link', { name: 'Rosa Lind', exact: true }).first().click();
  const person = page.url();
  await page.setViewportSize({ width: 1100, height: 2050 });
  await page.goto(`${person}/follow-up`);
  await take(page, 'follow-up');
  await page.setViewportSize({ width: 1000, height: 1080 });
  await page.goto(`${person}/prescribe`);
  await page.getByRole('button', { name: 'Use starter' }).click();
  await page.locator('svg.strip').waitFor();
  await page.getByRole('button', { name: 'Listen' }).click();
  await page.locator('audio').waitFor({ timeout: 180_000 });
  await page.evaluate('scrollTo(0, 0)');
  await take(page, 'prescribing');

  const phone = await browser.newPage({ viewport: { width: 390, height: 844 }, deviceScaleFactor: 1.5 });
  await phone.goto(demo.listenAt);
  await phone.locator('button:enabled', { hasText: 'Begin' }).first().waitFor({ timeout: 180_000 });
  await take(phone, 'listening');
} finally {
  await browser.close();
  await service.stop();
  await rm(folder, { recursive: true, force: true });
}

async function take(page: Page, name: string): Promise<void> {
  await page.screenshot({ path: path.join(import.meta.dirname, `${name}.png`) });
}
