import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { isWhole } from '../long.js';

/** Pictures of pages, to be looked at by people: `npm run test:long` leaves them. No check rests on them. */
const folder = 'output/pictures';

export async function takePicture(page: Page, name: string, { fullPage = true } = {}): Promise<void> {
  if (isWhole('pages')) await page.screenshot({ path: join(folder, `${name}.png`), fullPage });
}
