import type { RunOptions } from 'axe-core';
import type { Page } from 'playwright-core';
import { expect } from 'vitest';
import { axeFaults, wcagTags } from '../../support/axe.js';
import { takePicture } from '../../support/picture.js';

const everything: RunOptions = {
  runOnly: { type: 'tag', values: [...wcagTags, 'wcag2aaa'] },
  rules: { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } },
};
/** By night only the colors are others. */
const colors: RunOptions = {
  runOnly: { type: 'rule', values: ['color-contrast', 'color-contrast-enhanced'] },
};
/** WCAG 2.2, 2.5.5, level AAA, in CSS pixels. */
const smallestTarget = 44;

/**
 * A view by day and by night: no fault for axe-core, with the contrast of level AAA (1.4.6, 7:1); every target large
 * enough; nothing cut off on the narrowest screen (1.4.10, 320 px) or with text twice as large (1.4.4).
 */
export async function look(page: Page, name: string): Promise<void> {
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme });
    await takePicture(page, `listen-${name}-${colorScheme}`);
    const rules = colorScheme === 'light' ? everything : colors;
    expect(await axeFaults(page, rules), `${name}, ${colorScheme}`).toEqual([]);
  }
  await page.emulateMedia({ colorScheme: 'light' });
  expect(await smallTargets(page), `targets under 44 px in ${name}`).toEqual([]);
  const before = page.viewportSize() ?? { width: 390, height: 844 };
  await page.setViewportSize({ width: 320, height: 640 });
  expect(await overflow(page), `${name} is wider than 320 px`).toBeLessThanOrEqual(0);
  await page.setViewportSize(before);
  await page.evaluate(`document.documentElement.style.fontSize = '262.5%'`);
  expect(await overflow(page), `${name} is too wide with text twice as large`).toBeLessThanOrEqual(0);
  expect(await cutOff(page), `cut off in ${name} with text twice as large`).toEqual([]);
  await page.evaluate(`document.documentElement.style.fontSize = ''`);
}

async function overflow(page: Page): Promise<number> {
  return Number(await page.evaluate('document.documentElement.scrollWidth - innerWidth'));
}

/** Controls that can be seen and are smaller than a finger; a choice is its whole label. */
function smallTargets(page: Page): Promise<unknown> {
  return page.evaluate(`[...document.querySelectorAll('button, a[href], summary, input, textarea')]
    .filter((control) => control.checkVisibility() && control.getBoundingClientRect().left >= 0)
    .map((control) => control.closest('label') ?? control)
    .filter((control) => {
      const { width, height } = control.getBoundingClientRect();
      return Math.min(width, height) < ${smallestTarget};
    })
    .map((control) => control.textContent.trim())`);
}

/** Text that is larger than the box that holds it. */
function cutOff(page: Page): Promise<unknown> {
  return page.evaluate(`[...document.querySelectorAll('main *, .notices *')]
    .filter((element) => element.checkVisibility() && element.clientWidth > 0)
    .filter((element) => element.scrollWidth > element.clientWidth + 1 && element.getBoundingClientRect().left >= 0)
    .filter((element) => !element.closest('.visually-hidden'))
    .map((element) => element.outerHTML.slice(0, 80))`);
}
